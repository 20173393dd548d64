/** One unit a person may write. Inside value = written value × `factor` + `offset`. */
export type UnitDef = {
  readonly symbol: string;
  /** Other spellings, compared without regard to case unless `exactCase`. */
  readonly also: readonly string[];
  readonly factor: number;
  readonly offset?: number;
};

export type KindDef = {
  /** For messages: "a volume". */
  readonly name: string;
  /** First one is the unit inside the product. */
  readonly units: readonly [UnitDef, ...UnitDef[]];
  readonly examples: readonly string[];
  /** A bare number is allowed only where no unit exists to be mistaken. */
  readonly bareNumber?: boolean;
};

const unit = (symbol: string, factor: number, also: readonly string[] = [], offset?: number): UnitDef =>
  offset === undefined ? { symbol, factor, also } : { symbol, factor, also, offset };

// Exact by definition: US gallon 231 in³, inch 2.54 cm, pound 453.59237 g, psi from pound-force and inch (NIST SP 811 B.8).
const US_GALLON_L = 3.785411784;
/** Only on request: a bare "gal" is the US one. */
const UK_GALLON_L = 4.54609;
const INCH_CM = 2.54;
const POUND_G = 453.59237;
const PSI_BAR = 0.06894757293168;

export const KINDS = {
  volume: {
    name: 'a volume',
    units: [
      unit('L', 1, ['litre', 'litres', 'liter', 'liters']),
      unit('ml', 0.001, ['millilitre', 'millilitres', 'milliliter', 'milliliters']),
      unit('m³', 1000, ['m3']),
      unit('gal', US_GALLON_L, ['US gal', 'gallon', 'gallons']),
      unit('UK gal', UK_GALLON_L, ['imp gal']),
      unit('qt', US_GALLON_L / 4, ['quart', 'quarts']),
    ],
    examples: ['450 L', '120 gal'],
  },
  power: {
    name: 'a power',
    units: [unit('W', 1, ['watt', 'watts']), unit('kW', 1000)],
    examples: ['48 W', '0.3 kW'],
  },
  energy: {
    name: 'an energy',
    units: [unit('Wh', 1), unit('kWh', 1000)],
    examples: ['850 Wh', '1.2 kWh'],
  },
  temperature: {
    name: 'a temperature',
    units: [unit('°C', 1, ['C', 'degC']), unit('°F', 5 / 9, ['F', 'degF'], -160 / 9)],
    examples: ['25.5 °C', '78 °F'],
  },
  temperatureDifference: {
    name: 'a difference of temperature',
    units: [unit('°C', 1, ['C', 'K', 'degC']), unit('°F', 5 / 9, ['F', 'degF'])],
    examples: ['0.7 °C', '1.3 °F'],
  },
  length: {
    name: 'a length',
    units: [
      unit('cm', 1),
      unit('mm', 0.1),
      unit('m', 100),
      unit('in', INCH_CM, ['inch', 'inches', '"']),
      unit('ft', INCH_CM * 12, ['foot', 'feet']),
    ],
    examples: ['20 cm', '8 in'],
  },
  dissolved: {
    name: 'an amount of dissolved solids',
    units: [unit('mg/L', 1, ['ppm']), unit('µg/L', 0.001, ['ug/L', 'ppb']), unit('g/L', 1000)],
    examples: ['320 mg/L', '320 ppm'],
  },
  salinity: {
    name: 'a salinity',
    units: [unit('ppt', 1, ['PSU', 'g/kg', '‰'])],
    examples: ['35 ppt', '35 PSU'],
  },
  mass: {
    name: 'a mass',
    units: [
      unit('g', 1, ['gram', 'grams']),
      unit('kg', 1000),
      unit('mg', 0.001),
      unit('lb', POUND_G, ['lbs', 'pound', 'pounds']),
      unit('oz', POUND_G / 16, ['ounce', 'ounces']),
    ],
    examples: ['180 g', '2 lb'],
  },
  flow: {
    name: 'a flow',
    units: [
      unit('L/h', 1, ['lph']),
      unit('L/min', 60, ['lpm']),
      unit('L/d', 1 / 24, ['L/day']),
      unit('ml/s', 3.6),
      unit('ml/min', 0.06),
      unit('m³/h', 1000, ['m3/h']),
      unit('gal/h', US_GALLON_L, ['gph']),
      unit('gal/min', US_GALLON_L * 60, ['gpm']),
      unit('gal/d', US_GALLON_L / 24, ['gpd', 'gal/day']),
    ],
    examples: ['12 L/h', '75 gal/d'],
  },
  pressure: {
    name: 'a pressure',
    units: [unit('bar', 1), unit('mbar', 0.001), unit('kPa', 0.01), unit('psi', PSI_BAR)],
    examples: ['3.5 bar', '50 psi'],
  },
  count: {
    name: 'a count',
    units: [
      unit('starts', 1, ['start', 'runs', 'run', 'cycles', 'cycle', 'actuations', 'actuation', 'pieces', 'piece']),
    ],
    examples: ['50,000 starts'],
    bareNumber: true,
  },
  alkalinity: {
    name: 'an alkalinity',
    units: [unit('dKH', 1, ['°dH'])],
    examples: ['8 dKH'],
  },
  /** Volume for each length of level: how much water a centimetre of the sump is. */
  levelVolume: {
    name: 'a volume for each length of level',
    units: [unit('L/cm', 1), unit('L/mm', 10), unit('gal/in', US_GALLON_L / INCH_CM)],
    examples: ['4.05 L/cm', '2.7 gal/in'],
    bareNumber: true,
  },
  factor: {
    name: 'a factor',
    units: [unit('times', 1, ['x'])],
    examples: ['1.2', '1.2 times'],
    bareNumber: true,
  },
  share: {
    name: 'a share',
    units: [unit('%', 0.01, ['percent'])],
    examples: ['90 %'],
  },
} as const satisfies Readonly<Record<string, KindDef>>;

export type QuantityKind = keyof typeof KINDS;

export function kindDef(kind: QuantityKind): KindDef {
  return KINDS[kind];
}

/** Names of the units of a kind, for messages. */
export function unitSymbols(kind: QuantityKind): readonly string[] {
  return kindDef(kind).units.map((each) => each.symbol);
}

/** Both micro signs, the ordinal that looks like a degree sign and stray spaces come out as one spelling. */
export function normaliseUnit(text: string): string {
  return text
    .normalize('NFC')
    .replace(/\u03bc/g, 'µ')
    .replace(/º/g, '°')
    .replace(/\s+/g, ' ')
    .replace(/\s*\/\s*/g, '/')
    .replace(/° /g, '°')
    .trim();
}

/** The unit a person meant, or null. Capitals matter only where two units differ by nothing else. */
export function findUnit(kind: QuantityKind, written: string): UnitDef | null {
  const wanted = normaliseUnit(written);
  const units = kindDef(kind).units;
  const exact = units.find((each) => each.symbol === wanted || each.also.includes(wanted));
  if (exact !== undefined) return exact;
  const lower = wanted.toLowerCase();
  const loose = units.filter(
    (each) => each.symbol.toLowerCase() === lower || each.also.some((other) => other.toLowerCase() === lower),
  );
  return loose.length === 1 ? (loose[0] ?? null) : null;
}

/** Kinds, other than `kind`, in which the unit exists: "450 W" where a volume belongs is a power. */
export function kindsWithUnit(written: string, except: QuantityKind): readonly QuantityKind[] {
  return (Object.keys(KINDS) as QuantityKind[]).filter((kind) => kind !== except && findUnit(kind, written) !== null);
}
