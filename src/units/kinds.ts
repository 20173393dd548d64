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
/** A grain is a seven-thousandth of the pound, exact. */
const GRAIN_G = POUND_G / 7000;
/** Half the molar mass of calcium carbonate, 100.0869 g/mol: grams of it to the equivalent. */
const CACO3_G_PER_EQ = 50.04345;
/** A degree of carbonate hardness is 10 mg of calcium oxide (56.0774 g/mol) to the litre, here as calcium carbonate. */
const DKH_MG_CACO3 = (10 * 2 * CACO3_G_PER_EQ) / 56.0774;
const MEQ_DKH = CACO3_G_PER_EQ / DKH_MG_CACO3;
const CUBIC_FOOT_L = (INCH_CM * 12) ** 3 / 1000;

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
    units: [
      unit('mg/L', 1, ['ppm']),
      unit('µg/L', 0.001, ['ug/L', 'ppb']),
      unit('g/L', 1000),
      unit('gpg', (GRAIN_G * 1000) / US_GALLON_L, ['grains/gal']),
    ],
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
      unit('gr', GRAIN_G, ['grain', 'grains']),
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
    units: [
      unit('bar', 1),
      unit('mbar', 0.001, ['hPa']),
      unit('kPa', 0.01),
      unit('psi', PSI_BAR),
      unit('dbar', 0.1),
      unit('inHg', 0.03386389),
      unit('mmHg', 0.00133322),
      unit('atm', 1.01325),
    ],
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
    units: [unit('dKH', 1, ['°dH']), unit('meq/L', MEQ_DKH), unit('mg/L CaCO3', 1 / DKH_MG_CACO3, ['ppm CaCO3'])],
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
  gravity: {
    name: 'a specific gravity',
    units: [unit('SG', 1)],
    examples: ['1.0255'],
    bareNumber: true,
  },
  conductivity: {
    name: 'a conductivity',
    units: [unit('mS/cm', 1), unit('µS/cm', 0.001, ['uS/cm']), unit('S/m', 10)],
    examples: ['53 mS/cm', '1,200 µS/cm'],
  },
  area: {
    name: 'an area',
    units: [
      unit('m²', 1, ['m2']),
      unit('cm²', 0.0001, ['cm2']),
      unit('ft²', (INCH_CM * 0.12) ** 2, ['ft2', 'sq ft']),
      unit('in²', (INCH_CM / 100) ** 2, ['in2', 'sq in']),
    ],
    examples: ['0.6 m²', '8 ft²'],
  },
  airSpeed: {
    name: 'a speed of air',
    units: [unit('m/s', 1), unit('km/h', 1 / 3.6), unit('ft/min', 0.00508, ['fpm']), unit('mph', 0.44704)],
    examples: ['0.1 m/s', '20 ft/min'],
  },
  current: {
    name: 'a current',
    units: [unit('A', 1, ['ampere', 'amperes', 'amps']), unit('mA', 0.001)],
    examples: ['2.5 A', '800 mA'],
  },
  voltage: {
    name: 'a voltage',
    units: [unit('V', 1, ['volt', 'volts']), unit('mV', 0.001)],
    examples: ['24 V'],
  },
  heatLoss: {
    name: 'a loss of heat for each degree',
    units: [unit('W/°C', 1, ['W/K']), unit('W/°F', 1.8)],
    examples: ['12 W/°C'],
  },
  resinCapacity: {
    name: 'a capacity of resin',
    units: [
      unit('g/L', 1),
      unit('eq/L', CACO3_G_PER_EQ),
      unit('kgr/ft³', (GRAIN_G * 1000) / CUBIC_FOOT_L, ['kgr/ft3']),
    ],
    examples: ['12 g/L', '0.55 eq/L', '10 kgr/ft³'],
  },
  dissolvedRate: {
    name: 'an amount of dissolved substance for each time',
    units: [
      unit('mg/L/d', 1, ['ppm/d', 'mg/L/day']),
      unit('mg/L/h', 24, ['ppm/h']),
      unit('mg/L/wk', 1 / 7, ['ppm/wk', 'mg/L/week']),
    ],
    examples: ['0.3 mg/L/d', '2 mg/L/wk'],
  },
  alkalinityRate: {
    name: 'a use of alkalinity',
    units: [unit('dKH/d', 1, ['dKH/day']), unit('meq/L/d', MEQ_DKH)],
    examples: ['0.6 dKH/d'],
  },
  wireArea: {
    name: 'a cross-section of copper',
    units: [unit('mm²', 1, ['mm2'])],
    examples: ['0.75 mm²', '18 AWG'],
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
