import {
  afterBatches,
  afterFlow,
  alkalinityStep,
  batchesFor,
  batchShare,
  DILUTION_SOURCE,
  DRIFT_SOURCE,
  daysToAlkalinity,
  flowFor,
  HEAT_SOURCE,
  heatBatch,
  oneBatchFor,
  STEP_SOURCE,
  type Step,
  salinityAfterEvaporation,
  salinityAfterFresh,
  salinityAfterSaltLoss,
  steadyBatches,
  steadyFlow,
  temperatureStep,
  withoutTopOff,
} from '../../water/index.ts';
import { bounded, DAYS, HOURS, shown } from './amounts.ts';
import type { Given, Result, Shown, Topic, TopicOption } from './types.ts';

const DAY_MS = 86_400_000;

const VOLUME: TopicOption = { name: 'volume', takes: 'volume', help: 'net water of the tank', example: '458 L' };
const BATCH: TopicOption = { name: 'batch', takes: 'volume', help: 'water changed at once', example: '45 L' };
export const WATER_TEMPERATURE: TopicOption = {
  name: 'temperature',
  takes: 'temperature',
  help: 'temperature of the water',
  example: '25 °C',
  fallback: '25 °C',
};

function change(given: Given): Result {
  const [volumeL, batchL] = [given.quantity('volume'), given.quantity('batch')];
  const [now, added, times] = [given.quantity('now'), given.quantity('new'), given.quantity('times')];
  const flowing = given.flag('continuous');
  const part = batchShare(batchL, volumeL);
  const after = flowing ? afterFlow(now, added, batchL * times, volumeL) : afterBatches(now, added, part, times);
  const target = given.maybe('target');
  const wanted = target === undefined ? null : { now, added, target };
  return {
    what: flowing ? 'After so much has flowed through' : 'After the change',
    answer: shown('dissolved', after, 2),
    source: DILUTION_SOURCE,
    also:
      wanted === null
        ? {}
        : {
            'to the target': shown({ unit: 'batches' }, batchesFor(wanted, part).whole, 0),
            'or in one batch': shown('volume', oneBatchFor(wanted, volumeL), 1),
            'or flowing through': shown('volume', flowFor(wanted, volumeL), 1),
          },
  };
}

function steady(given: Given): Result {
  const [volumeL, batchL] = [given.quantity('volume'), given.quantity('batch')];
  const [rise, added] = [given.quantity('rise'), given.quantity('new')];
  if (given.flag('continuous'))
    return {
      what: 'Settles at',
      answer: shown('dissolved', steadyFlow(rise, batchL, volumeL, added), 2),
      source: DILUTION_SOURCE,
    };
  const { before, after, mean } = steadyBatches(rise, batchShare(batchL, volumeL), added);
  return {
    what: 'Settles before each change at',
    answer: shown('dissolved', before, 2),
    source: DILUTION_SOURCE,
    also: { 'after it': shown('dissolved', after, 2), 'on average': shown('dissolved', mean, 2) },
  };
}

function stepNotes(step: Step, limit: number): readonly string[] {
  // A hair over is rounding of what was typed.
  return Math.abs(step.step) > limit * (1 + 1e-9)
    ? ['The step is larger than the limit: make it in smaller batches, or match the water.']
    : [];
}

function largest(step: Step): Record<string, Shown> {
  return step.largestBatchL === null
    ? {}
    : { 'largest batch within the limit': shown('volume', step.largestBatchL, 1) };
}

function alkalinity(given: Given): Result {
  const limit = given.quantity('limit');
  const tank = given.quantity('tank');
  const step = alkalinityStep(given.quantity('batch'), given.quantity('volume'), tank, given.quantity('new'), limit);
  const use = given.maybe('use');
  const days: Record<string, Shown> =
    use === undefined
      ? {}
      : {
          'days to the lowest allowed, undosed': shown(DAYS, daysToAlkalinity(tank, given.quantity('lowest'), use), 1),
        };
  return {
    what: 'Alkalinity after the change',
    answer: shown('alkalinity', step.after, 2),
    source: STEP_SOURCE,
    also: { step: shown('alkalinity', step.step, 2), ...largest(step), ...days },
    notes: stepNotes(step, limit),
  };
}

function temperature(given: Given): Result {
  const limit = given.quantity('limit');
  const [tank, added] = [given.quantity('tank'), given.quantity('new')];
  const step = temperatureStep(given.quantity('batch'), given.quantity('volume'), tank, added, limit);
  return {
    what: 'Temperature after the change',
    answer: shown('temperature', step.after, 2),
    source: STEP_SOURCE,
    also: { step: shown('temperatureDifference', step.step, 2), ...largest(step) },
    notes: stepNotes(step, limit),
  };
}

function warm(given: Given): Result {
  const water = { salinityPpt: given.quantity('salinity'), temperatureC: 25 };
  const [from, to] = [given.quantity('from'), given.quantity('to')];
  const { energyWh, hours } = heatBatch(given.quantity('volume'), from, to, given.quantity('heater'), water);
  return {
    what: 'Time to warm it',
    answer: bounded(HOURS, hours, 1),
    source: `${HEAT_SOURCE}; bound for a barrel that loses a fifth: common practice, no source`,
    also: { energy: bounded('energy', energyWh, 0) },
  };
}

function drift(given: Given): Result {
  const [volumeL, salinityPpt] = [given.quantity('volume'), given.quantity('salinity')];
  const tank = { volumeL, salinityPpt, temperatureC: given.quantity('temperature') };
  const what = 'Salinity after it';
  if (given.has('fresh'))
    return {
      what,
      answer: shown('salinity', salinityAfterFresh(tank, given.quantity('fresh')), 2),
      source: DRIFT_SOURCE,
    };
  if (given.has('lost'))
    return {
      what,
      answer: shown('salinity', salinityAfterSaltLoss(volumeL, salinityPpt, given.quantity('lost')), 2),
      source: DILUTION_SOURCE,
    };
  const litresPerDay = given.quantity('evaporation') * 24;
  const days = given.quantity('for') / DAY_MS;
  const after = salinityAfterEvaporation(tank, litresPerDay * days);
  return {
    what: 'Salinity without top-off',
    answer: shown('salinity', after, 2),
    source: DRIFT_SOURCE,
    also: { rise: shown('salinity', after - salinityPpt, 2), ...chamber(given, litresPerDay) },
    notes: ['Only the last chamber of the sump falls: the pump there may draw air long before salinity matters.'],
  };
}

function chamber(given: Given, litresPerDay: number): Record<string, Shown> {
  if (!given.has('chamber')) return {};
  const left = withoutTopOff(
    litresPerDay,
    given.quantity('chamber'),
    given.quantity('spare'),
    given.maybe('store') ?? null,
  );
  return {
    'last chamber falls, a day': shown('length', left.cmPerDay, 1),
    'days to a dry pump': shown(DAYS, left.daysToDry, 1),
    ...(left.storeDays === null ? {} : { 'days the store lasts': shown(DAYS, left.storeDays, 1) }),
  };
}

export const CHANGE_TOPICS: readonly Topic[] = [
  {
    name: 'change',
    summary: 'what a water change leaves of a dissolved substance',
    options: [
      VOLUME,
      BATCH,
      { name: 'now', takes: 'dissolved', help: 'in the tank', example: '20 mg/L' },
      { name: 'new', takes: 'dissolved', help: 'in the new water', example: '0 mg/L', fallback: '0 mg/L' },
      { name: 'times', takes: 'number', help: 'equal changes', example: '4', fallback: '1' },
      { name: 'continuous', takes: 'flag', help: 'in and out at the same time instead of in batches', example: '' },
      { name: 'target', takes: 'dissolved', help: 'also say what it takes to get there', example: '10 mg/L' },
    ],
    range: 'Well-mixed water; nothing is made or used meanwhile.',
    examples: [
      '--volume "458 L" --batch "135 L" --now "20 mg/L"',
      '--volume "120 gal" --batch "10 gal" --now "40 ppm" --times 4',
      '--volume "458 L" --batch "45 L" --now "20 mg/L" --continuous',
      '--volume "458 L" --batch "45 L" --now "20 mg/L" --new "2 mg/L" --target "10 mg/L"',
    ],
    run: change,
  },
  {
    name: 'steady',
    summary: 'where equal changes settle against a steady rise',
    options: [
      VOLUME,
      BATCH,
      { name: 'rise', takes: 'dissolved', help: 'rise from one change to the next', example: '2 mg/L' },
      { name: 'new', takes: 'dissolved', help: 'in the new water', example: '0 mg/L', fallback: '0 mg/L' },
      { name: 'continuous', takes: 'flag', help: 'the batch flows through over that time', example: '' },
    ],
    range: 'Well-mixed water, the same rise each time.',
    examples: [
      '--volume "458 L" --batch "45 L" --rise "2 mg/L" --new "1 mg/L"',
      '--volume "120 gal" --batch "12 gal" --rise "2 ppm" --continuous',
    ],
    run: steady,
  },
  {
    name: 'alkalinity',
    summary: 'step of alkalinity that a water change makes',
    options: [
      VOLUME,
      BATCH,
      { name: 'tank', takes: 'alkalinity', help: 'in the tank', example: '7.6 dKH' },
      { name: 'new', takes: 'alkalinity', help: 'in the new water', example: '11 dKH' },
      { name: 'limit', takes: 'alkalinity', help: 'largest step allowed', example: '1 dKH', fallback: '1 dKH' },
      { name: 'use', takes: 'alkalinityRate', help: 'what the tank uses a day', example: '0.6 dKH/d' },
      { name: 'lowest', takes: 'alkalinity', help: 'lowest alkalinity allowed', example: '7 dKH', fallback: '7 dKH' },
    ],
    range: '0 to 30 dKH.',
    examples: [
      '--volume "450 L" --batch "135 L" --tank "7.6 dKH" --new "11 dKH"',
      '--volume "120 gal" --batch "36 gal" --tank "2.7 meq/L" --new "8.5 dKH"',
      '--volume "450 L" --batch "45 L" --tank "8.2 dKH" --new "8.5 dKH" --limit "0.5 dKH" --use "0.6 dKH/d" --lowest "7.5 dKH"',
    ],
    run: alkalinity,
  },
  {
    name: 'temperature',
    summary: 'step of temperature that a water change makes',
    options: [
      VOLUME,
      BATCH,
      { name: 'tank', takes: 'temperature', help: 'in the tank', example: '25.5 °C' },
      { name: 'new', takes: 'temperature', help: 'of the new water', example: '20 °C' },
      {
        name: 'limit',
        takes: 'temperatureDifference',
        help: 'largest step allowed',
        example: '0.5 °C',
        fallback: '0.5 °C',
      },
    ],
    range: '0 to 45 °C.',
    examples: [
      '--volume "458 L" --batch "45 L" --tank "25.5 °C" --new "20 °C"',
      '--volume "120 gal" --batch "35 gal" --tank "78 °F" --new "68 °F" --limit "2 °F" --us',
    ],
    run: temperature,
  },
  {
    name: 'warm',
    summary: 'time and energy to warm a batch',
    options: [
      { ...VOLUME, help: 'water to warm', example: '135 L' },
      { name: 'from', takes: 'temperature', help: 'temperature now', example: '14 °C' },
      { name: 'to', takes: 'temperature', help: 'temperature wanted', example: '25.5 °C' },
      { name: 'heater', takes: 'power', help: 'watts of the heater', example: '300 W' },
      { name: 'salinity', takes: 'salinity', help: 'salinity', example: '35 ppt', fallback: '35 ppt' },
    ],
    range: '0 to 45 °C.',
    examples: [
      '--volume "135 L" --from "14 °C" --to "25.5 °C" --heater "300 W"',
      '--volume "10 gal" --from "58 °F" --to "78 °F" --heater "100 W" --salinity "0 ppt"',
    ],
    run: warm,
  },
  {
    name: 'drift',
    summary: 'what missing top-off, a flood of fresh water or lost salt water does to salinity',
    options: [
      VOLUME,
      { name: 'salinity', takes: 'salinity', help: 'salinity now', example: '35 ppt', fallback: '35 ppt' },
      WATER_TEMPERATURE,
      { name: 'evaporation', takes: 'flow', help: 'what evaporates, with no top-off', example: '6 L/d' },
      { name: 'for', takes: 'duration', help: 'for how long', example: '1 d', fallback: '1 d' },
      { name: 'fresh', takes: 'volume', help: 'fresh water too much, instead', example: '40 L' },
      { name: 'lost', takes: 'volume', help: 'salt water lost and made up by fresh, instead', example: '2 L' },
      {
        name: 'chamber',
        takes: 'levelVolume',
        help: 'water in the last chamber, also tells how it falls',
        example: '1.26 L/cm',
      },
      {
        name: 'spare',
        takes: 'length',
        help: 'water over the intake of the pump there',
        example: '10 cm',
        fallback: '10 cm',
      },
      { name: 'store', takes: 'volume', help: 'top-off store', example: '40 L' },
    ],
    range: '0 to 42 ppt before and after; at most half of the tank evaporates.',
    examples: [
      '--volume "458 L" --evaporation "6 L/d"',
      '--volume "458 L" --evaporation "6 L/d" --for "2 d" --chamber "1.26 L/cm" --store "40 L"',
      '--volume "458 L" --salinity "34.5 ppt" --temperature "26 °C" --evaporation "1.5 gal/d" --chamber "1.26 L/cm" --spare "4 in" --us',
      '--volume "458 L" --fresh "40 L"',
      '--volume "120 gal" --lost "0.5 gal"',
    ],
    run: drift,
  },
];
