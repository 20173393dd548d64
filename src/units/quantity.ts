// Flavoured numbers: a plain number fits, a litre does not pass for a watt. Everything inside the product is in these units.
declare const unit: unique symbol;
export type Quantity<U extends string> = number & { readonly [unit]?: U };

/** UTC milliseconds since 1970. Periods are cut in the tank's zone, durations never are. */
export type InstantMs = Quantity<'instant ms'>;
export type DurationMs = Quantity<'duration ms'>;
export type VolumeL = Quantity<'L'>;
export type PowerW = Quantity<'W'>;
export type EnergyWh = Quantity<'Wh'>;
export type TemperatureC = Quantity<'°C'>;
export type LengthCm = Quantity<'cm'>;
export type DissolvedMgL = Quantity<'mg/L'>;
/** Practical salinity, written ppt by keepers. */
export type SalinityPpt = Quantity<'ppt'>;
export type MassG = Quantity<'g'>;
export type FlowLPerH = Quantity<'L/h'>;
export type PressureBar = Quantity<'bar'>;

export const SECOND_MS = 1_000;
export const MINUTE_MS = 60_000;
export const HOUR_MS = 3_600_000;
export const DAY_MS = 86_400_000;
