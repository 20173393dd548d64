import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { loadConfig } from '../../../src/config/index.ts';
import { SlackwaterError } from '../../../src/errors/index.ts';
import { GOOD } from './good-configuration.ts';

const load = (text: string) => loadConfig(text, 'slackwater.yaml').config.tank;
const withCounter = (line: string): string => GOOD.replace('parts:\n', `  ${line}\nparts:\n`);
const withPart = (line: string, counter = ''): string =>
  withCounter(counter).replace('people:\n', `  ${line}\npeople:\n`);
const found = (text: string): readonly string[] => {
  try {
    load(text);
  } catch (error) {
    assert.ok(error instanceof SlackwaterError);
    return error.details.map(({ message }) => message.replace(/^slackwater\.yaml:\d+:\d+: /, ''));
  }
  return [];
};
const last = (text: string) => load(text).counters.at(-1);

const GRAMS =
  'resin-load: { grams: { litres: sensor.product_litres, maxPerHour: 20 L, tds: sensor.ro_tds, maxAge: 2 h, maxTds: 60 mg/L } }';
const NARROWED =
  'lit: { onState: { entity: switch.lamp, narrowedBy: { entity: sensor.lamp_energy, unit: Wh, leastPerHourOn: 90 Wh, mostPerHourOn: 120 Wh, mostPerHourOff: 0 Wh, coarseness: 10 Wh } } }';

describe('counters of further measures', () => {
  test('grams from a meter of water and what is dissolved in it', () => {
    const counter = last(withCounter(GRAMS));
    assert.deepEqual(counter?.measures, ['grams']);
    assert.deepEqual(counter?.source, {
      kind: 'dissolved',
      entity: 'sensor.product_litres',
      unitsPerReading: 1,
      maxPerHour: 20,
      tdsEntity: 'sensor.ro_tds',
      tdsMaxAgeMs: 7_200_000,
      maxTdsMgPerL: 60,
    });
  });

  test('actuations of a contact, of both moves unless said otherwise', () => {
    assert.deepEqual(last(withCounter('float-moves: { actuations: { entity: binary_sensor.low_float } }')), {
      id: 'float-moves',
      name: 'Float moves',
      source: { kind: 'edges', entity: 'binary_sensor.low_float', edges: 'both' },
      measures: ['actuations'],
    });
    const rising = 'moves: { actuations: { entity: binary_sensor.x, edges: rising, shortest: 30 s } }';
    assert.deepEqual(last(withCounter(rising))?.source, {
      kind: 'edges',
      entity: 'binary_sensor.x',
      edges: 'rising',
      shortestMs: 30_000,
    });
  });

  test('a lifetime meter beside a switch narrows its gaps, in the unit of its measure', () => {
    assert.deepEqual(last(withCounter(NARROWED))?.source, {
      kind: 'on-state',
      entity: 'switch.lamp',
      narrowedBy: {
        entity: 'sensor.lamp_energy',
        unitsPerReading: 0.001,
        leastPerHourOn: 0.09,
        mostPerHourOn: 0.12,
        mostPerHourOff: 0,
        coarseness: 0.01,
      },
    });
  });

  test('a total that takes a fall at once says so; the usual way leaves no trace', () => {
    const total = (more: string) => `m: { total: { entity: sensor.m, unit: L, maxPerHour: 20 L${more} } }`;
    assert.deepEqual(last(withCounter(total(', resets: at-once')))?.source, {
      kind: 'total',
      entity: 'sensor.m',
      unitsPerReading: 1,
      maxPerHour: 20,
      resets: 'at-once',
    });
    assert.deepEqual(last(withCounter(total('')))?.source, last(withCounter(total(', resets: confirmed')))?.source);
  });

  test('a narrowing that cannot narrow is refused with the reason', () => {
    assert.deepEqual(found(withCounter(NARROWED.replace('mostPerHourOff: 0 Wh', 'mostPerHourOff: 90 Wh'))), [
      'counters.lit.onState.narrowedBy.leastPerHourOn: it may take as much in an hour of off-time.',
    ]);
    assert.deepEqual(found(withCounter(NARROWED.replace('mostPerHourOn: 120 Wh', 'mostPerHourOn: 80 Wh'))), [
      'counters.lit.onState.narrowedBy.mostPerHourOn: it is less than leastPerHourOn.',
    ]);
    assert.deepEqual(found(withCounter(NARROWED.replace('coarseness: 10 Wh', 'coarseness: 1 L'))), [
      'counters.lit.onState.narrowedBy.coarseness: the meter reads Wh, but this is a volume.',
    ]);
  });
});

describe('parts of further measures', () => {
  test('several limits at once; the first one reached counts', () => {
    const part = load(
      withPart(
        'resin: { kind: di-resin, fitted: 2026-01-05, limits: { grams: 180 g, litres: 1500 L, days: 12 mo }, counts: { grams: resin-load, litres: feed }, used: { grams: 20 g } }',
        GRAMS,
      ),
    ).parts.at(-1);
    assert.deepEqual(part?.limits, [
      { measure: 'litres', amount: 1500 },
      { measure: 'grams', amount: 180 },
      { measure: 'days', amount: 365 },
    ]);
    assert.deepEqual(part?.usageFrom, { litres: 'feed', grams: 'resin-load' });
    assert.deepEqual(part?.usedBefore, { grams: 20 });
  });

  test('rotable spares have names, each once, in one place', () => {
    const wetEnd = (more: string) =>
      withPart(`wet-end: { kind: return-pump-wet-end, fitted: 2026-01-05, ${more} }`, GRAMS);
    assert.deepEqual(load(wetEnd('spares: [wet-end-a, wet-end-b]')).parts.at(-1)?.spares, ['wet-end-a', 'wet-end-b']);
    assert.ok(!('spares' in (load(wetEnd('pieces: 1')).parts.at(-1) ?? {})), 'absent, not undefined');
    assert.deepEqual(found(wetEnd('spares: [a, a]')), ['parts.wet-end.spares: the name "a" stands there twice.']);
    assert.deepEqual(found(wetEnd('pieces: 2, spares: [a, b]')), ['parts.wet-end.spares: it has 2 pieces.']);
    assert.equal(found(wetEnd('spares: [a]')).length, 1);
  });
});
