import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import {
  type ConditionBatch,
  type ConditionMemory,
  type ConditionSetup,
  createMonitor,
  detect,
  newCondition,
  takeCondition,
  type WatchedEquipment,
} from '../../../src/condition/index.ts';
import type { MinutePower } from '../../../src/observe/index.ts';
import { DAY_MS, HOUR_MS, MINUTE_MS } from '../../../src/units/index.ts';
import { demoSetup } from '../../simulation/wear/trial.ts';
import { createWorld } from '../../simulation/wear/world.ts';

const START = Date.UTC(2026, 0, 5);
const POWER = 'sensor.plug_power';
const SWITCH = 'switch.plug';

const plug = (over: Partial<WatchedEquipment>): ConditionSetup => ({
  volumeL: 450,
  sump: null,
  equipment: [
    {
      id: 'one',
      name: 'Plug',
      role: 'skimmer',
      power: POWER,
      switch: SWITCH,
      normalW: null,
      pieces: null,
      parts: {},
      ...over,
    },
  ],
  sensors: {},
  parts: {},
});

/** Watts by the minute; `null` where nothing is known. */
const minutes = (days: number, wattsAt: (minute: number) => number | null): MinutePower[] =>
  Array.from({ length: Math.round(days * 1_440) }, (_, index) => ({ index, watts: wattsAt(index) })).flatMap(
    ({ index, watts }) =>
      watts === null
        ? []
        : [{ minute: START + index * MINUTE_MS, knownMs: MINUTE_MS, minW: watts, meanW: watts, maxW: watts }],
  );

/** A little uneven, the same each time. */
const wobble = (minute: number, watts: number): number => watts * (1 + 0.01 * Math.sin(minute * 12.9898));

const record = (days: number, wattsAt: (minute: number) => number | null, over: Partial<ConditionBatch> = {}) => ({
  minutes: [{ entity: POWER, minutes: minutes(days, wattsAt) }],
  observations: [{ entity: SWITCH, at: START, value: 1 }],
  until: START + days * DAY_MS,
  ...over,
});

describe('a pump', () => {
  test('drifts past its limit: said with learned and present watts, and since when', () => {
    const drifting = (minute: number): number =>
      wobble(minute, 26 * (1 + (0.1 * Math.max(0, minute / 1_440 - 20)) / 15));
    const [found, ...rest] = detect(plug({ parts: { 'skimmer-body': 'body' } }), record(40, drifting));
    assert.deepEqual(rest, []);
    assert.equal(found?.kind, 'skimmer-air');
    assert.equal(found.sure, 'certain');
    assert.deepEqual(found.parts, ['body']);
    assert.ok(Math.abs((found.normal ?? 0) - 26) < 0.1, found.evidence);
    assert.ok(
      found.since >= START + 19 * DAY_MS && found.since <= START + 25 * DAY_MS,
      new Date(found.since).toISOString(),
    );
  });

  test('twenty seconds out of its socket are no fault, two minutes are', () => {
    const bumped = record(8, (minute) => wobble(minute, 26));
    const at = (at: number, watts: Partial<MinutePower>): ConditionBatch => ({
      ...bumped,
      minutes: [
        {
          entity: POWER,
          minutes: (bumped.minutes[0]?.minutes ?? []).map((one) =>
            one.minute >= START + 7.5 * DAY_MS && one.minute < START + 7.5 * DAY_MS + at * MINUTE_MS
              ? { ...one, ...watts }
              : one,
          ),
        },
      ],
    });
    assert.deepEqual(detect(plug({}), at(1, { minW: 0, meanW: 17 })), []);
    const monitor = createMonitor(plug({}));
    const said = monitor.take(at(2, { minW: 0, meanW: 0.3, maxW: 0.5 }));
    assert.equal(said[0]?.kind, 'pump-not-turning');
    assert.match(said[0]?.evidence ?? '', /draws nothing/);
    // It runs again, so it is over.
    assert.deepEqual(monitor.findings(), []);
  });

  test('a swapped pump is learned anew once its keeper says so, and never alarms', () => {
    const swapAt = 12 * 1_440 + 600;
    const swapped = (minute: number): number => wobble(minute, minute < swapAt ? 24 : 18);
    const services = [{ at: START + (swapAt + 200) * MINUTE_MS, what: 'serviced', equipment: 'one' } as const];
    const monitor = createMonitor(plug({ role: 'circulation-pump' }));
    assert.deepEqual(monitor.take(record(40, swapped, { services })), []);
    const unsaid = createMonitor(plug({ role: 'circulation-pump' }));
    assert.equal(unsaid.take(record(40, swapped)).at(-1)?.kind, 'pump-fouling');
  });

  test('one odd day moves nothing', () => {
    const dip = (minute: number): number => wobble(minute, Math.floor(minute / 1_440) === 20 ? 22 : 26);
    const monitor = createMonitor(plug({}));
    assert.deepEqual(monitor.take(record(35, dip)), []);
  });

  test('what is not known proves nothing: a gap neither alarms nor clears', () => {
    const monitor = createMonitor(plug({}));
    const gap = (minute: number): number | null =>
      minute > 9 * 1_440 && minute < 11 * 1_440 ? null : wobble(minute, 26);
    assert.deepEqual(monitor.take(record(20, gap)), []);
  });
});

describe('a relay', () => {
  const off = (days: number, watts: (minute: number) => number) =>
    record(days, watts, {
      observations: [
        { entity: SWITCH, at: START, value: 1 },
        { entity: SWITCH, at: START + 6 * DAY_MS, value: 0 },
      ],
    });

  test('watts that stay after off are told as certain within four minutes', () => {
    const [word] = createMonitor(plug({ role: 'heater' })).take(off(7, (minute) => wobble(minute, 198)));
    assert.equal(word?.kind, 'welded-relay');
    assert.equal(word.sure, 'certain');
    assert.ok(word.saidAt - (START + 6 * DAY_MS) <= 4 * MINUTE_MS);
  });

  test('a meter that is one report late is no welded relay', () => {
    const late = (minute: number): number => (minute < 6 * 1_440 + 1 ? wobble(minute, 198) : 0.3);
    assert.deepEqual(createMonitor(plug({ role: 'heater' })).take(off(7, late)), []);
  });
});

describe('a set', () => {
  const lit = (minute: number, watts: number): number =>
    minute % 1_440 >= 570 && minute % 1_440 < 1_110 ? watts : 0.3;
  const bank = plug({ role: 'fluorescent-bank', pieces: 3, switch: null });

  test('names how many are out of how many', () => {
    for (const [out, watts] of [
      [1, 114],
      [2, 57],
    ] as const) {
      const monitor = createMonitor(bank);
      monitor.take(record(9, (minute) => wobble(minute, lit(minute, minute < 8 * 1_440 ? 171 : watts))));
      assert.deepEqual(monitor.findings()[0]?.pieces, { out, of: 3 });
    }
  });

  test('a warm-up peak and low mains are no dead lamp', () => {
    const uneven = (minute: number): number => {
      const low = Math.floor(minute / 1_440) === 8 ? 0.93 : 1;
      const warm = minute % 1_440 >= 570 && minute % 1_440 < 573 ? 9 : 0;
      return wobble(minute, lit(minute, 171 * low + warm));
    };
    assert.deepEqual(createMonitor(bank).take(record(12, uneven)), []);
  });
});

describe('the memory', () => {
  const world = () =>
    createWorld({ seed: 5, plant: null, plugs: ['return_pump', 'top_off', 'heater_1', 'heater_2', 'ro_unit'] });
  const inPieces = (pieceMs: number, through: (memory: ConditionMemory) => ConditionMemory): ConditionMemory => {
    const { day } = world();
    let memory = newCondition();
    for (let index = 0; index < 9; index += 1) {
      const batch = day(index);
      for (let until = batch.until - DAY_MS + pieceMs; until <= batch.until; until += pieceMs) {
        const own = (at: number): boolean => at < until && at >= until - pieceMs;
        memory = takeCondition(demoSetup(), through(memory), {
          minutes: batch.minutes.map(({ entity, minutes: all }) => ({
            entity,
            minutes: all.filter(({ minute }) => own(minute)),
          })),
          observations: batch.observations.filter(({ at }) => own(at)),
          services: (batch.services ?? []).filter(({ at }) => own(at)),
          until,
        }).memory;
      }
    }
    return memory;
  };

  test('comes out the same in whole days, in quarters of a day, and through a store', () => {
    const days = inPieces(DAY_MS, (memory) => memory);
    assert.deepEqual(
      inPieces(6 * HOUR_MS, (memory) => JSON.parse(JSON.stringify(memory)) as ConditionMemory),
      days,
    );
    assert.ok(days.watts['return-pump']?.drift.signature !== null);
  });

  test('a batch is taken once: what is older than the last one changes nothing', () => {
    const setup = plug({});
    const whole = record(9, (minute) => wobble(minute, 26));
    const once = takeCondition(setup, newCondition(), whole);
    const twice = takeCondition(setup, once.memory, whole);
    assert.deepEqual(twice.memory, once.memory);
    assert.deepEqual(twice.news, []);
  });

  test('what is handed in is left as it was', () => {
    const memory = newCondition();
    const before = structuredClone(memory);
    takeCondition(
      plug({}),
      memory,
      record(3, (minute) => wobble(minute, 26)),
    );
    assert.deepEqual(memory, before);
  });
});
