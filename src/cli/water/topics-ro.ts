import { problem } from '../../errors/index.ts';
import { parseQuantity, type QuantityKind } from '../../units/index.ts';
import {
  CARTRIDGE_SOURCE,
  carbonLitres,
  cartridgeLeft,
  concentrateMgL,
  feedForProductL,
  hoursToMake,
  LEARNED_FLOW_SOURCE,
  learnFlow,
  normalisedFlowBand,
  type Production,
  productAt25,
  productFlow,
  RESIN_G_PER_L,
  RESIN_SOURCE,
  RO_FLOW_SOURCE,
  RO_SOURCE,
  recovery,
  rejection,
  resinLeft,
  resinLitres,
  TCF_SOURCE,
  takenUpG,
  temperatureDivisor,
} from '../../water/index.ts';
import { bounded, DAYS, GRAMS, HOURS, LITRES_A_DAY, PER_CENT, PLAIN, scaled, shown } from './amounts.ts';
import { quoted } from './given.ts';
import type { Given, Result, Shown, Topic, TopicOption } from './types.ts';

const DAY_MS = 86_400_000;
const FEED: TopicOption = {
  name: 'feed',
  takes: 'dissolved',
  help: 'dissolved solids in the tap water',
  example: '320 mg/L',
};

function ro(given: Given): Result {
  const feed = given.quantity('feed');
  const rejected = rejection(feed, given.quantity('permeate'));
  const also: Record<string, Shown> = { 'passes the membrane': shown(PER_CENT, 100 * (1 - rejected), 2) };
  if (given.has('product') || given.has('waste')) {
    const found = recovery(given.quantity('product'), given.quantity('waste'));
    also['recovery'] = shown(PER_CENT, 100 * found.recovery, 1);
    also['feed used'] = shown('volume', found.feedL, 1);
    also['waste for each product'] = shown(PLAIN, found.wastePerProduct, 2);
    if (found.recovery <= 0.95)
      also['in the waste'] = shown('dissolved', concentrateMgL(feed, found.recovery, rejected), 0);
  }
  return { what: 'Rejection', answer: shown(PER_CENT, 100 * rejected, 2), source: RO_SOURCE, also };
}

/** "12 L/h at 12 °C": what the unit made and how warm its feed was. */
function readRun(text: string): Production {
  const [flow = '', at = ''] = text.split(/\s+at\s+|\s*@\s*/);
  const [flowLPerH, temperatureC] = [piece('flow', flow), piece('temperature', at)];
  if (flowLPerH === null || temperatureC === null)
    throw problem('SW-WAT-001', {
      argument: '--run',
      found: `"${text}"`,
      expected: 'litres an hour and the temperature of the feed',
      example: '--run "12 L/h at 12 °C"',
    });
  return { flowLPerH, temperatureC };
}

function piece(kind: QuantityKind, text: string): number | null {
  const parsed = parseQuantity(kind, text);
  return parsed.ok ? parsed.value : null;
}

function roFlow(given: Given): Result {
  const temperatureC = given.quantity('temperature');
  const product = given.maybe('product');
  const runs = given.all('run').map(readRun);
  if (runs.length > 0) {
    const { at25, samples } = learnFlow(runs);
    const answer = hoursToMake(product ?? 1, at25, temperatureC);
    return {
      what: product === undefined ? 'Time for each litre' : 'Time to make it',
      answer: bounded(HOURS, answer, product === undefined ? 3 : 1),
      source: LEARNED_FLOW_SOURCE,
      also: { 'product at 25 °C': bounded('flow', at25, 1) },
      notes: [`Learned from ${samples} runs.`],
    };
  }
  if (given.has('flow')) return normalised(given, temperatureC);
  const membrane = {
    ratedLPerH: given.quantity('rated'),
    pressureBar: given.quantity('pressure'),
    feedMgL: given.quantity('feed'),
    temperatureC,
  };
  const flow = productFlow(membrane);
  const time =
    product === undefined ? null : { value: product / flow.value, low: product / flow.high, high: product / flow.low };
  return {
    what: 'Product',
    answer: bounded('flow', flow, 1),
    source: RO_FLOW_SOURCE,
    also: {
      'flow at 25 °C divided by': bounded(PLAIN, temperatureDivisor(temperatureC), 3),
      ...(time === null ? {} : { 'time to make it': bounded(HOURS, time, 1) }),
    },
    notes: ['The tables differ in cold water: give three --run readings of your own unit for a better answer.'],
  };
}

/** What one run says of the membrane, whatever the season. */
function normalised(given: Given, temperatureC: number): Result {
  const at25 = normalisedFlowBand({ flowLPerH: given.quantity('flow'), temperatureC });
  const also: Record<string, Shown> = {};
  if (given.has('rated')) {
    const expected = productAt25({
      ratedLPerH: given.quantity('rated'),
      pressureBar: given.quantity('pressure'),
      feedMgL: given.quantity('feed'),
    });
    also['rating at this pressure and feed'] = shown('flow', expected, 1);
    also['of that'] = bounded(PER_CENT, scaled(at25, 100 / expected), 0);
  }
  return {
    what: 'Product brought to 25 °C',
    answer: bounded('flow', at25, 1),
    source: TCF_SOURCE,
    also,
    notes: [
      'Hold it against the same unit when its membrane was new: a fifth less is a usual limit (common practice, no source).',
    ],
  };
}

function resin(given: Given): Result {
  const kind = given.has('capacity') ? given.quantity('capacity') : undefined;
  const of = (capacityGPerL: number) => ({
    resinL: given.quantity('resin'),
    capacityGPerL,
    tdsMgL: given.quantity('tds'),
    co2MgL: given.maybe('co2') ?? 0,
  });
  const { value, low, high } = RESIN_G_PER_L;
  const capacities = kind === undefined ? { value, low, high } : { value: kind, low: kind, high: kind };
  const used = usedGrams(given);
  const left = {
    value: resinLeft(of(capacities.value), used),
    low: resinLeft(of(capacities.low), used),
    high: resinLeft(of(capacities.high), used),
  };
  const each = (pick: (one: ReturnType<typeof resinLeft>) => number) => ({
    value: pick(left.value),
    // Past its capacity at the weakest nothing is left; how far past tells nothing.
    low: Math.min(pick(left.value), Math.max(0, pick(left.low))),
    high: pick(left.high),
  });
  const past = left.value.grams < 0 ? ['The resin is past its capacity: test the product water now.'] : [];
  return {
    what: used === 0 ? 'Water it will treat' : 'Water left in it',
    answer: bounded(
      'volume',
      each((one) => one.litres),
      0,
    ),
    source:
      kind === undefined
        ? RESIN_SOURCE
        : 'grams taken up against the capacity given; carbon dioxide by its equivalents',
    also: {
      'in grams': bounded(
        GRAMS,
        each((one) => one.grams),
        1,
      ),
      'in grains': bounded(
        { unit: 'grains' },
        each((one) => one.grains),
        0,
      ),
      'in equivalents': bounded(
        { unit: 'eq' },
        each((one) => one.equivalents),
        3,
      ),
      share: shown(PER_CENT, 100 * left.value.share, 0),
      'when new': shown('volume', resinLitres(of(capacities.value)), 0),
    },
    notes: [
      ...past,
      ...(given.has('co2') ? [] : ['A TDS meter does not see carbon dioxide, which uses resin up as well.']),
    ],
  };
}

function usedGrams(given: Given): number {
  if (given.has('used')) return given.quantity('used');
  if (!given.has('passed')) return 0;
  return takenUpG([
    { litres: given.quantity('passed'), tdsMgL: given.quantity('tds'), co2MgL: given.maybe('co2') ?? 0 },
  ]);
}

function cartridge(given: Given): Result {
  const rated = given.quantity('limit');
  const chlorine = given.maybe('chlorine');
  const limitL = chlorine === undefined ? rated : carbonLitres(rated, given.quantity('rated-chlorine'), chlorine);
  const share = given.maybe('recovery');
  const perDay = given.has('product')
    ? feedForProductL(given.quantity('product') * 24, share ?? 1)
    : given.quantity('feed') * 24;
  if (given.has('product') && share === undefined)
    throw problem('SW-WAT-003', {
      argument: '--recovery',
      expected: 'the share of the feed that becomes product',
      example: '--recovery "25 %"',
    });
  const left = cartridgeLeft({
    limitL,
    usedL: given.quantity('used'),
    limitDays: given.quantity('months') / DAY_MS,
    ageDays: given.quantity('age') / DAY_MS,
    feedLPerDay: perDay,
  });
  return {
    what: 'Feed water left',
    answer: shown('volume', left.litres, 0),
    source:
      chlorine === undefined
        ? 'litres of feed and age, the first limit wins: common practice, no source'
        : CARTRIDGE_SOURCE,
    also: {
      'days left': shown(DAYS, left.days, 0),
      'feed used': shown(LITRES_A_DAY, perDay, 1),
      'limit here': shown('volume', limitL, 0),
    },
    notes: [left.days < 0 ? `It is past its limit of ${left.first}.` : `The limit of ${left.first} is reached first.`],
  };
}

export const RO_TOPICS: readonly Topic[] = [
  {
    name: 'ro',
    summary: 'rejection of an RO membrane, and recovery where product and waste are given',
    options: [
      FEED,
      { name: 'permeate', takes: 'dissolved', help: 'dissolved solids behind the membrane', example: '9 mg/L' },
      { name: 'product', takes: 'volume', help: 'product made', example: '50 L' },
      { name: 'waste', takes: 'volume', help: 'waste meanwhile', example: '150 L' },
    ],
    range: 'Permeate no more than feed.',
    examples: [
      '--feed "320 mg/L" --permeate "9.6 mg/L"',
      '--feed "320 ppm" --permeate "10 ppm" --product "10 gal" --waste "30 gal" --us',
      '--feed "180 mg/L" --permeate "4 mg/L" --json',
    ],
    run: ro,
  },
  {
    name: 'ro-flow',
    summary: 'how fast an RO unit makes water at a feed temperature, from its rating or from its own runs',
    options: [
      { name: 'temperature', takes: 'temperature', help: 'temperature of the feed', example: '12 °C' },
      { name: 'product', takes: 'volume', help: 'water wanted', example: '135 L' },
      { name: 'rated', takes: 'flow', help: 'rated at 25 °C, 4.1 bar (60 psi) and 250 mg/L', example: '380 L/d' },
      { name: 'pressure', takes: 'pressure', help: 'at the membrane', example: '5.5 bar' },
      FEED,
      { name: 'flow', takes: 'flow', help: 'product as it runs now, to be brought to 25 °C', example: '12 L/h' },
      { name: 'run', takes: 'run', help: 'a run of the unit; three at least', example: '12 L/h at 12 °C', many: true },
    ],
    range: `Feed of 5 to 30 °C, as the tables are. ${TCF_SOURCE[0]?.toUpperCase()}${TCF_SOURCE.slice(1)}.`,
    examples: [
      '--rated "380 L/d" --pressure "5.5 bar" --feed "320 mg/L" --temperature "12 °C" --product "135 L"',
      '--rated "100 gal/d" --pressure "65 psi" --feed "250 ppm" --temperature "59 °F" --us',
      '--flow "11.2 L/h" --temperature "12 °C" --rated "380 L/d" --pressure "5.5 bar" --feed "320 mg/L"',
      `--run ${quoted('12 L/h at 12 °C')} --run ${quoted('14.5 L/h at 16 °C')} --run ${quoted('17 L/h at 20 °C')} --temperature "14 °C" --product "135 L"`,
    ],
    run: roFlow,
  },
  {
    name: 'resin',
    summary: 'what is left in a deionising cartridge: litres, grams, grains, equivalents',
    options: [
      { name: 'resin', takes: 'volume', help: 'resin in the cartridge', example: '1.2 L' },
      { name: 'tds', takes: 'dissolved', help: 'dissolved solids in the water before it', example: '9.6 mg/L' },
      {
        name: 'capacity',
        takes: 'resinCapacity',
        help: 'what a litre of it takes up; left out, 12 g/L between 8 and 23',
        example: '12 g/L',
      },
      { name: 'co2', takes: 'dissolved', help: 'carbon dioxide in that water', example: '6 mg/L' },
      { name: 'used', takes: 'mass', help: 'taken up so far', example: '3.4 g' },
      { name: 'passed', takes: 'volume', help: 'or water treated so far, all at this TDS', example: '1450 L' },
    ],
    range: 'Up to 110 g for each litre of resin, water up to 10,000 mg/L.',
    examples: [
      '--resin "1.2 L" --tds "9.6 mg/L" --passed "1,450 L"',
      '--resin "1 qt" --tds "10 ppm" --capacity "10 kgr/ft³" --us',
      '--resin "1 L" --tds "6 mg/L" --capacity "0.55 eq/L" --co2 "6 mg/L" --used "9.2 g"',
    ],
    run: resin,
  },
  {
    name: 'cartridge',
    summary: 'what is left of a sediment cartridge or carbon block',
    options: [
      { name: 'limit', takes: 'volume', help: 'feed water it is good for', example: '10,000 L' },
      { name: 'used', takes: 'volume', help: 'feed water so far', example: '8,035 L', fallback: '0 L' },
      { name: 'months', takes: 'duration', help: 'age it is good for', example: '6 mo', fallback: '6 mo' },
      { name: 'age', takes: 'duration', help: 'age now', example: '162 d', fallback: '0 d' },
      { name: 'feed', takes: 'flow', help: 'feed water used', example: '50 L/d' },
      { name: 'product', takes: 'flow', help: 'or product made, with the recovery', example: '12.4 L/d' },
      { name: 'recovery', takes: 'share', help: 'share of the feed that becomes product', example: '25 %' },
      {
        name: 'chlorine',
        takes: 'dissolved',
        help: 'chlorine in this tap water, for a carbon block',
        example: '0.5 mg/L',
      },
      {
        name: 'rated-chlorine',
        takes: 'dissolved',
        help: 'chlorine its limit was stated for',
        example: '1 mg/L',
        fallback: '1 mg/L',
      },
    ],
    range: 'Chlorine of more than 0, at most 10 mg/L.',
    examples: [
      '--limit "10,000 L" --used "8,035 L" --age "162 d" --product "12.4 L/d" --recovery "25 %"',
      '--limit "4,000 gal" --feed "13 gal/d" --months "9 mo" --chlorine "2 ppm" --rated-chlorine "1 ppm" --us',
    ],
    run: cartridge,
  },
];
