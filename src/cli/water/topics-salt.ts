import {
  brineToAddL,
  DILUTION_SOURCE,
  freshForBatchL,
  freshToAddL,
  learnMixGPerL,
  mixForBatchG,
  mixToRaiseG,
  pureSaltG,
  SALT_SOURCE,
  swapL,
} from '../../water/index.ts';
import { bounded, shown } from './amounts.ts';
import { WATER_TEMPERATURE } from './topics-changes.ts';
import type { Given, Result, Shown, Topic, TopicOption } from './types.ts';

const G_PER_L = 1000;
const GRAMS_A_LITRE = { unit: 'g/L' } as const;
const MIX: TopicOption = {
  name: 'mix',
  takes: 'dissolved',
  help: 'strength of the bag: grams for each litre at 35 ppt; left out, 36 to 39 g/L',
  example: '37.5 g/L',
};

function mixOf(given: Given): number | undefined {
  const written = given.maybe('mix');
  return written === undefined ? undefined : written / G_PER_L;
}

function salt(given: Given): Result {
  const water = { salinityPpt: given.quantity('salinity'), temperatureC: given.quantity('temperature') };
  const volumeL = given.quantity('volume');
  return {
    what: 'Salt mix',
    answer: bounded('mass', mixForBatchG(volumeL, water, mixOf(given)), 0),
    source: SALT_SOURCE,
    also: {
      'dissolved salt in it': shown('mass', pureSaltG(volumeL, water), 0),
      'fresh water to begin with': shown('volume', freshForBatchL(volumeL, water), 1),
    },
    notes: ['Mixes hold water of their own: learn the strength of your bag, and measure before the water is used.'],
  };
}

function mix(given: Given): Result {
  const water = { salinityPpt: given.quantity('salinity'), temperatureC: given.quantity('temperature') };
  const strength = learnMixGPerL(given.quantity('used'), given.quantity('volume'), water);
  return {
    what: 'Mix for each litre at 35 ppt',
    answer: shown(GRAMS_A_LITRE, strength, 1),
    source: 'mass balance on TEOS-10 densities; learned from this batch',
    notes: ['Give it as --mix to salt and correct.'],
  };
}

function correct(given: Given): Result {
  const volumeL = given.quantity('volume');
  const [salinityPpt, targetPpt] = [given.quantity('salinity'), given.quantity('target')];
  const correction = { volumeL, salinityPpt, targetPpt, temperatureC: given.quantity('temperature') };
  const newPpt = given.maybe('new');
  if (newPpt !== undefined) {
    const also: Record<string, Shown> =
      newPpt > targetPpt && targetPpt > salinityPpt
        ? { 'or to add, with room for it': shown('volume', brineToAddL(volumeL, salinityPpt, newPpt, targetPpt), 1) }
        : {};
    const litres = swapL(volumeL, salinityPpt, newPpt, targetPpt);
    return { what: 'Water to exchange', answer: shown('volume', litres, 1), source: DILUTION_SOURCE, also };
  }
  if (targetPpt >= salinityPpt) {
    const grams = bounded('mass', mixToRaiseG(correction, mixOf(given)), 0);
    return { what: 'Salt mix to add', answer: grams, source: SALT_SOURCE };
  }
  const add = freshToAddL(correction);
  return {
    what: 'Fresh water to exchange',
    answer: shown('volume', swapL(volumeL, salinityPpt, 0, targetPpt), 1),
    source: DILUTION_SOURCE,
    also: { 'or to add, with room for it': shown('volume', add, 1) },
  };
}

export const SALT_TOPICS: readonly Topic[] = [
  {
    name: 'salt',
    summary: 'salt for a batch of new water',
    options: [
      { name: 'volume', takes: 'volume', help: 'finished water', example: '45 L' },
      { name: 'salinity', takes: 'salinity', help: 'salinity wanted', example: '35 ppt', fallback: '35 ppt' },
      WATER_TEMPERATURE,
      MIX,
    ],
    range: 'More than 0, at most 42 ppt; mixes of 30 to 50 g/L.',
    examples: [
      '--volume "45 L"',
      '--volume "10 gal" --salinity "35 ppt" --mix "37.5 g/L" --us',
      '--volume "135 L" --salinity "33 ppt" --temperature "20 °C" --json',
    ],
    run: salt,
  },
  {
    name: 'mix',
    summary: 'strength of a bag of salt mix, from what a batch took and came out at',
    options: [
      { name: 'volume', takes: 'volume', help: 'finished water', example: '45 L' },
      { name: 'used', takes: 'mass', help: 'mix that went in', example: '1.7 kg' },
      { name: 'salinity', takes: 'salinity', help: 'salinity it came out at', example: '35.4 ppt' },
      WATER_TEMPERATURE,
    ],
    range: 'Bags of 30 to 50 g for each litre.',
    examples: [
      '--volume "45 L" --used "1.7 kg" --salinity "35.4 ppt" --temperature "24 °C"',
      '--volume "10 gal" --used "3 lb" --salinity "34.2 ppt"',
    ],
    run: mix,
  },
  {
    name: 'correct',
    summary: 'salt or water for a batch that came out too weak or too strong',
    options: [
      { name: 'volume', takes: 'volume', help: 'water in the batch or tank', example: '45 L' },
      { name: 'salinity', takes: 'salinity', help: 'salinity now', example: '33 ppt' },
      { name: 'target', takes: 'salinity', help: 'salinity wanted', example: '35 ppt', fallback: '35 ppt' },
      { name: 'new', takes: 'salinity', help: 'other water to exchange for, such as a brine', example: '70 ppt' },
      WATER_TEMPERATURE,
      MIX,
    ],
    range: '0 to 42 ppt; brine up to 120 ppt.',
    examples: [
      '--volume "45 L" --salinity "33 ppt"',
      '--volume "45 L" --salinity "31.5 ppt" --target "34 ppt" --temperature "20 °C" --mix "38 g/L"',
      '--volume "45 L" --salinity "37 ppt"',
      '--volume "50 gal" --salinity "33 ppt" --new "70 ppt" --us',
    ],
    run: correct,
  },
];
