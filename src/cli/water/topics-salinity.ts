import { problem } from '../../errors/index.ts';
import { parseQuantity } from '../../units/index.ts';
import {
  absoluteSalinity,
  CONVENTIONS,
  type Convention,
  conductivityMsCm,
  conservativeTemperatureC,
  densityKgM3,
  EOS80,
  eos80DensityKgM3,
  GRAVITY_SOURCE,
  gravityBetween,
  gravityOf,
  HYDROMETER_SOURCE,
  hydrometerSalinity,
  MARKED_CONVENTIONS,
  type Pair,
  PSS78,
  practicalSalinity,
  REFRACTOMETER_SOURCE,
  RULE_OF_THUMB,
  refractometerSalinity,
  salinityBetween,
  salinityOfGravity,
  TEOS10,
} from '../../water/index.ts';
import { bounded, shown } from './amounts.ts';
import { expectedOf } from './given.ts';
import type { Given, Result, Topic, TopicOption } from './types.ts';

const CONVENTION_OPTION: TopicOption = {
  name: 'convention',
  takes: 'convention',
  help: 'temperatures of sample and water; left out, the answer spans the three that instruments are marked with',
  example: '25/25',
};
const UNNAMED: Convention = '25/25';
const RULE_NOTE = `Rule of thumb: ${RULE_OF_THUMB.salinityPpt} ppt is about ${RULE_OF_THUMB.gravity} (${RULE_OF_THUMB.source}; it holds for 25 °C / 25 °C).`;
const DENSITY = { unit: 'kg/m³' } as const;
const GRAMS_A_KG = { unit: 'g/kg' } as const;
const BAR_DBAR = 10;
const PRESSURE: TopicOption = {
  name: 'pressure',
  takes: 'pressure',
  help: 'of the sea above one atmosphere; a tank has none',
  example: '2,000 dbar',
  fallback: '0 bar',
};

function pressureOf(given: Given): number {
  return given.quantity('pressure') * BAR_DBAR;
}

/** "25/25", "25 °C / 25 °C" and "60F/60F" have names here; any other pair of temperatures is taken as it is. */
function readConvention(text: string): Pair & { readonly name: string } {
  const words = text.split('/').map((part) => part.replace(/\s+|°/g, ''));
  const temperatures = words.map((part) => parseQuantity('temperature', /^[\d.]+$/.test(part) ? `${part} °C` : part));
  const [sample, water] = temperatures;
  if (words.length !== 2 || sample?.ok !== true || water?.ok !== true)
    throw problem('SW-WAT-001', {
      argument: '--convention',
      found: `"${text}"`,
      expected: expectedOf('convention'),
      example: '--convention 25/25',
    });
  const named = Object.values(CONVENTIONS).find(
    ({ sampleC, waterC }) => Math.abs(sampleC - sample.value) < 1e-9 && Math.abs(waterC - water.value) < 1e-9,
  );
  const name = words.map((part) => part.replace(/([\d.]+)C?$/i, '$1 °C').replace(/([\d.]+)F$/i, '$1 °F')).join(' / ');
  return named ?? { name, sampleC: sample.value, waterC: water.value };
}

/** The convention named, or one taken with the others as bounds. */
function byConvention(
  given: Given,
  of: (pair: Pair) => number,
): {
  readonly value: number;
  readonly convention: string;
  readonly bounds: { readonly low?: number; readonly high?: number };
} {
  if (given.has('convention')) {
    const pair = readConvention(given.text('convention'));
    return { value: of(pair), convention: pair.name, bounds: {} };
  }
  const all = MARKED_CONVENTIONS.map((one) => of(CONVENTIONS[one]));
  const names = MARKED_CONVENTIONS.map((one) => CONVENTIONS[one].name).join(', ');
  return {
    value: of(CONVENTIONS[UNNAMED]),
    convention: `${CONVENTIONS[UNNAMED].name} taken, as none was named; bounds over ${names}`,
    bounds: { low: Math.min(...all), high: Math.max(...all) },
  };
}

function salinity(given: Given): Result {
  const [byGravity, byConductivity] = [given.has('gravity'), given.has('conductivity')];
  if (byGravity === byConductivity)
    throw byGravity
      ? problem('SW-WAT-004', {
          argument: '--conductivity',
          found: 'a conductivity',
          why: 'a gravity is given, too',
          hint: 'Ask for one at a time.',
        })
      : problem('SW-WAT-003', {
          argument: '--gravity or --conductivity',
          expected: 'a reading to turn into a salinity',
          example: '--gravity 1.0255 --convention 25/25',
        });
  if (byConductivity) {
    const temperatureC = given.quantity('temperature');
    const value = practicalSalinity({
      conductivityMsCm: given.quantity('conductivity'),
      temperatureC,
      pressureDbar: pressureOf(given),
    });
    return { what: 'Salinity', answer: shown('salinity', value, 2), source: PSS78 };
  }
  const gravity = given.quantity('gravity');
  const { value, convention, bounds } = byConvention(given, ({ sampleC, waterC }) =>
    salinityBetween(gravity, sampleC, waterC),
  );
  return {
    what: 'Salinity',
    answer: { ...shown('salinity', value, 2), ...bounds },
    convention,
    source: GRAVITY_SOURCE,
    also: Object.fromEntries(
      MARKED_CONVENTIONS.map((one) => [CONVENTIONS[one].name, shown('salinity', salinityOfGravity(gravity, one), 2)]),
    ),
    notes: [RULE_NOTE],
  };
}

function gravity(given: Given): Result {
  const salinityPpt = given.quantity('salinity');
  const { value, convention, bounds } = byConvention(given, ({ sampleC, waterC }) =>
    gravityBetween(salinityPpt, sampleC, waterC),
  );
  return {
    what: 'Specific gravity',
    answer: { ...shown('gravity', value, 5), ...bounds },
    convention,
    source: GRAVITY_SOURCE,
    also: Object.fromEntries(
      MARKED_CONVENTIONS.map((one) => [CONVENTIONS[one].name, shown('gravity', gravityOf(salinityPpt, one), 5)]),
    ),
    notes: [RULE_NOTE],
  };
}

function density(given: Given): Result {
  const water = { salinityPpt: given.quantity('salinity'), temperatureC: given.quantity('temperature') };
  const older = given.text('standard') === 'EOS-80';
  const dbar = pressureOf(given);
  const value = older ? eos80DensityKgM3(water, dbar) : densityKgM3(water, dbar);
  const other = older ? densityKgM3(water, dbar) : eos80DensityKgM3(water, dbar);
  return {
    what: 'Density',
    answer: shown(DENSITY, value, 3),
    source: older ? EOS80 : TEOS10,
    also: {
      [older ? 'by TEOS-10' : 'by EOS-80']: shown(DENSITY, other, 3),
      'absolute salinity': shown(GRAMS_A_KG, absoluteSalinity(water.salinityPpt), 3),
      ...(dbar === 0 ? { 'conservative temperature': shown('temperature', conservativeTemperatureC(water), 3) } : {}),
    },
  };
}

function hydrometer(given: Given): Result {
  const found = hydrometerSalinity({
    gravity: given.quantity('reading'),
    temperatureC: given.quantity('temperature'),
    scaleC: given.quantity('scale'),
    readingError: given.quantity('reading-error'),
    temperatureErrorC: given.quantity('temperature-error'),
  });
  return {
    what: 'Salinity',
    answer: bounded('salinity', found, 2),
    convention: `scale right at ${given.text('scale')}, relative to water of the same temperature`,
    source: HYDROMETER_SOURCE,
    also: { 'gravity at 25 °C / 25 °C': bounded('gravity', gravities(found), 4) },
    notes: takenNotes(given),
  };
}

function gravities(found: { readonly value: number; readonly low: number; readonly high: number }) {
  const of = (salinityPpt: number): number => gravityOf(Math.min(42, salinityPpt), '25/25');
  return { value: of(found.value), low: of(found.low), high: of(found.high) };
}

function refractometer(given: Given): Result {
  const found = refractometerSalinity({
    readingPpt: given.quantity('reading'),
    temperatureC: given.quantity('temperature'),
    scaleC: given.quantity('scale'),
    scale: given.text('made-for') === 'brine' ? 'brine' : 'seawater',
    compensated: given.flag('compensated'),
    readingErrorPpt: given.quantity('reading-error'),
    temperatureErrorC: given.quantity('temperature-error'),
  });
  const how = given.flag('compensated') ? 'corrects for temperature itself' : 'does not correct for temperature';
  return {
    what: 'Salinity',
    answer: bounded('salinity', found, 1),
    convention: `scale for ${given.text('made-for')} at ${given.text('scale')}; the instrument ${how}`,
    source: REFRACTOMETER_SOURCE,
    notes: takenNotes(given),
  };
}

/** What was not said and matters. */
function takenNotes(given: Given): readonly string[] {
  return given.has('scale')
    ? []
    : [`The temperature of the scale was taken as ${given.text('scale')}: look what stands on the instrument.`];
}

const SALINITY_OPTION: TopicOption = { name: 'salinity', takes: 'salinity', help: 'salinity', example: '35 ppt' };
const TEMPERATURE_OPTION: TopicOption = {
  name: 'temperature',
  takes: 'temperature',
  help: 'temperature of the sample',
  example: '25 °C',
};
const THERMOMETER: TopicOption = {
  name: 'temperature-error',
  takes: 'temperatureDifference',
  help: 'how far the thermometer may be off',
  example: '0.5 °C',
  fallback: '0.5 °C',
};

export const SALINITY_TOPICS: readonly Topic[] = [
  {
    name: 'salinity',
    summary: 'salinity from a conductivity or a specific gravity',
    options: [
      { name: 'gravity', takes: 'gravity', help: 'a specific gravity, corrected to its convention', example: '1.0255' },
      CONVENTION_OPTION,
      { name: 'conductivity', takes: 'conductivity', help: 'a conductivity as measured', example: '53 mS/cm' },
      { ...TEMPERATURE_OPTION, help: 'temperature at which the conductivity was measured' },
      PRESSURE,
    ],
    range: '0 to 42 ppt, -2 to 40 °C, 0 to 10,000 dbar.',
    examples: [
      '--gravity 1.025 --convention 25/25',
      '--gravity 1.026 --convention 25/25',
      '--gravity 1.025 --convention 60F/60F',
      '--gravity 1.026 --convention "20 °C / 20 °C"',
      '--gravity 1.025 --convention "25 °C / 60 °F"',
      '--gravity 1.0264',
      '--conductivity "53 mS/cm" --temperature "25 °C"',
      '--conductivity "38 mS/cm" --temperature "10 °C" --pressure "100 dbar"',
      '--conductivity "53,000 µS/cm" --temperature "77 °F" --json',
    ],
    run: salinity,
  },
  {
    name: 'conductivity',
    summary: 'conductivity of water of a salinity',
    options: [SALINITY_OPTION, TEMPERATURE_OPTION, PRESSURE],
    range: '0 to 42 ppt, -2 to 40 °C, 0 to 10,000 dbar.',
    examples: [
      '--salinity "35 ppt" --temperature "25 °C"',
      '--salinity "35 ppt" --temperature "59 °F"',
      '--salinity "34.86 ppt" --temperature "10 °C" --pressure "100 dbar"',
    ],
    run: (given) => ({
      what: 'Conductivity',
      answer: shown(
        'conductivity',
        conductivityMsCm(given.quantity('salinity'), given.quantity('temperature'), pressureOf(given)),
        2,
      ),
      source: PSS78,
    }),
  },
  {
    name: 'gravity',
    summary: 'specific gravity of a salinity, under a named convention',
    options: [SALINITY_OPTION, CONVENTION_OPTION],
    range: '0 to 42 ppt.',
    examples: [
      '--salinity "35 ppt" --convention 25/25',
      '--salinity "35 PSU" --convention 60F/60F',
      '--salinity "33.2 ppt"',
      '--salinity "35 ppt" --convention 20/20 --json',
    ],
    run: gravity,
  },
  {
    name: 'density',
    summary: 'density of water',
    options: [
      SALINITY_OPTION,
      TEMPERATURE_OPTION,
      {
        name: 'standard',
        takes: { oneOf: ['TEOS-10', 'EOS-80'] },
        help: 'which standard',
        example: 'EOS-80',
        fallback: 'TEOS-10',
      },
      PRESSURE,
    ],
    range: '0 to 42 ppt, -2 to 40 °C, 0 to 10,000 dbar.',
    examples: [
      '--salinity "35 ppt" --temperature "25 °C"',
      '--salinity "35 ppt" --temperature "77 °F" --standard EOS-80',
      '--salinity "35 ppt" --temperature "25 °C" --standard EOS-80 --pressure "10,000 dbar"',
    ],
    run: density,
  },
  {
    name: 'hydrometer',
    summary: 'salinity from a hydrometer read away from the temperature of its scale',
    options: [
      { name: 'reading', takes: 'gravity', help: 'as read, nothing corrected', example: '1.025' },
      TEMPERATURE_OPTION,
      {
        name: 'scale',
        takes: 'temperature',
        help: 'temperature its scale is made for',
        example: '60 °F',
        fallback: '60 °F',
      },
      {
        name: 'reading-error',
        takes: 'gravity',
        help: 'how far the reading may be off',
        example: '0.0005',
        fallback: '0.0005',
      },
      THERMOMETER,
    ],
    range: '0 to 42 ppt, -2 to 40 °C, glass hydrometers.',
    examples: [
      '--reading 1.025 --temperature "25 °C"',
      '--reading 1.025 --temperature "77 °F" --scale "60 °F" --reading-error 0.001',
      '--reading 1.0255 --temperature "26 °C" --scale "20 °C" --temperature-error "1 °C" --json',
    ],
    run: hydrometer,
  },
  {
    name: 'refractometer',
    summary: 'salinity from a refractometer read away from the temperature of its scale',
    options: [
      { name: 'reading', takes: 'salinity', help: 'as read, nothing corrected', example: '35 ppt' },
      TEMPERATURE_OPTION,
      {
        name: 'scale',
        takes: 'temperature',
        help: 'temperature it was set to zero at',
        example: '20 °C',
        fallback: '20 °C',
      },
      {
        name: 'made-for',
        takes: { oneOf: ['seawater', 'brine'] },
        help: 'what its scale is for',
        example: 'brine',
        fallback: 'seawater',
      },
      { name: 'compensated', takes: 'flag', help: 'it corrects for temperature itself', example: '' },
      {
        name: 'reading-error',
        takes: 'salinity',
        help: 'how far the reading may be off',
        example: '0.5 ppt',
        fallback: '0.5 ppt',
      },
      THERMOMETER,
    ],
    range: '0 to 42 ppt, 0 to 35 °C.',
    examples: [
      '--reading "33 ppt" --temperature "25 °C"',
      '--reading "36.5 ppt" --temperature "72 °F" --made-for brine --compensated',
      '--reading "35 ppt" --temperature "26 °C" --scale "25 °C" --reading-error "1 ppt" --temperature-error "1 °F"',
    ],
    run: refractometer,
  },
];
