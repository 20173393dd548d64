import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { SlackwaterError } from '../../../src/errors/index.ts';
import type { HourStatistic } from '../../../src/observe/index.ts';
import { DAY_MS, HOUR_MS, MINUTE_MS } from '../../../src/units/index.ts';
import { ana, type KeeperHome, keeperHome, observed, T0 } from './keeper-home.ts';

const YAML = `tank: { name: Bench, zone: UTC, volume: 200 L }
hub: { url: http://hub, token: { env: T } }
equipment:
  lamp: { role: led-lamp, driver: always-on, switch: switch.lamp, power: sensor.lamp_power, normalPower: 100 W }
  pump: { role: return-pump, driver: always-on, switch: switch.pump }
counters:
  lamp-lit: { powerThreshold: { entity: sensor.lamp_power, onAbove: 40 W, offBelow: 10 W } }
  pump-on: { onState: { entity: switch.pump } }
  feed: { total: { entity: sensor.feed, unit: L, maxPerHour: 20 L } }
parts:
  tubes: { kind: fluorescent-tubes, pieces: 2, equipment: lamp, fitted: 2026-01-09, limits: { on-hours: 3600 h }, counts: { on-hours: lamp-lit } }
  wet-end: { kind: return-pump-wet-end, equipment: pump, fitted: 2026-01-09, spares: [end-a, end-b], limits: { on-hours: 9000 h }, counts: { on-hours: pump-on } }
  carbon: { kind: carbon-block, fitted: 2026-01-09, limits: { litres: 9000 L }, counts: { litres: feed } }
people: { ana: { name: Ana } }
`;

/** From the eve of counting on: lamp off, pump on, a meter at 100. */
const ROWS = [
  observed('sensor.lamp_power', T0 - DAY_MS, 0),
  observed('switch.pump', T0 - DAY_MS, 1),
  observed('sensor.feed', T0 - DAY_MS, 100),
];
const figure = (home: KeeperHome, part: string) => {
  const found = home.app.usage().find((one) => one.part === part)?.measures[0];
  assert.ok(found, part);
  return [found.low, found.best, found.high].map((value) => Math.round(value * 1e6) / 1e6);
};
const code = async (work: () => Promise<unknown>): Promise<string> => {
  try {
    await work();
  } catch (error) {
    assert.ok(error instanceof SlackwaterError, String(error));
    return error.code;
  }
  return 'none';
};
const withHome = async (work: (home: KeeperHome) => Promise<KeeperHome>, options = {}): Promise<void> => {
  const home = await work(await keeperHome(YAML, { rows: ROWS, ...options }));
  await home.stop();
};

describe('replace plug, keep hours', () => {
  test('hours go on over the change; what the new plug did before does not count, and the old one no more', async () => {
    await withHome(async (first) => {
      first.system.advance(2 * HOUR_MS);
      assert.deepEqual(figure(first, 'wet-end'), [26, 26, 26]);
      // The new plug has run something else for a day already.
      await first.tell({ 'switch.new_plug': 1 });
      const [change] = await first.app.changeSource('pump', ana, { how: 'replace', entity: 'switch.new_plug' });
      assert.equal(change?.counter, 'pump-on');
      first.system.advance(MINUTE_MS);
      const second = await first.restart();
      assert.match(
        second.app.status().warnings?.join() ?? '',
        /pump-on reads switch\.new_plug .* still says switch\.pump/,
      );
      second.system.advance(3 * HOUR_MS - MINUTE_MS);
      const [low = 0, best = 0, high = 0] = figure(second, 'wet-end');
      // Nothing is lost but the moment of the change.
      assert.ok(low > 28.9 && best > 28.9 && high < 29.1, `${low} ${best} ${high}`);
      const third = await second.restart();
      third.system.advance(HOUR_MS);
      await third.tell({ 'switch.new_plug': 0, 'switch.pump': 1 });
      third.system.advance(5 * HOUR_MS);
      // Started anew once more, and the old plug on: nothing is lost, nothing is added.
      const end = figure(third, 'wet-end');
      assert.ok(Math.abs((end[0] ?? 0) - low - 1) < 1e-3 && Math.abs((end[2] ?? 0) - high - 1) < 1e-3, end.join());
      return third;
    });
  });

  test('a new meter is a new baseline: no fall, no jump', async () => {
    await withHome(async (first) => {
      first.system.advance(HOUR_MS);
      await first.tell({ 'sensor.feed': 110, 'sensor.new_feed': 3 });
      await first.app.changeSource('feed', ana, { how: 'replace', entity: 'sensor.new_feed' });
      const second = await first.restart();
      second.system.advance(HOUR_MS);
      await second.tell({ 'sensor.new_feed': 8 });
      assert.deepEqual(figure(second, 'carbon').slice(0, 2), [15, 15]);
      assert.deepEqual(second.app.resets(), []);
      return second;
    });
  });
});

describe('move plug, start new', () => {
  test('the parts it feeds now begin anew, and what it fed before has no source until it is given one', async () => {
    await withHome(async (first) => {
      first.system.advance(HOUR_MS);
      await first.tell({ 'sensor.lamp_power': 100 });
      first.system.advance(HOUR_MS);
      await first.tell({ 'sensor.other_power': 100 });
      // The plug of another device is put to the lamp.
      await first.app.changeSource('lamp-lit', ana, { how: 'move', entity: 'sensor.other_power' });
      const second = await first.restart();
      second.system.advance(2 * HOUR_MS);
      assert.deepEqual(second.app.usage().find(({ part }) => part === 'tubes')?.life, 2);
      const [low = 0, , high = 9] = figure(second, 'tubes');
      assert.ok(low > 1.9 && high < 2.1, `${low} ${high}`);
      // Now the pump's plug goes to the feed pump's counter: the wet end is left without.
      await second.app.changeSource('pump-on', ana, { how: 'move', entity: 'switch.third' });
      const third = await second.restart();
      assert.equal(third.app.status().warnings?.length, 2);
      return third;
    });
  });

  test('a plug that goes to another counter leaves its old one without a source, which shows', async () => {
    await withHome(async (first) => {
      first.system.advance(HOUR_MS);
      const before = figure(first, 'wet-end');
      const told = await first.app.changeSource('lamp-lit', ana, { how: 'move', entity: 'switch.pump' });
      assert.deepEqual(
        told.map(({ counter, entity }) => [counter, entity]),
        [
          ['lamp-lit', 'switch.pump'],
          ['pump-on', null],
        ],
      );
      const second = await first.restart();
      second.system.advance(4 * HOUR_MS);
      const [low, , high = 0] = figure(second, 'wet-end');
      assert.deepEqual([low, high >= (before[2] ?? 0) + 3.9], [before[0], true]);
      assert.match(second.app.status().warnings?.join() ?? '', /pump-on has no source/);
      return second;
    });
  });
});

describe('answers', () => {
  test('a rise too fast to be true waits in the upper bound; "yes" proves it, and undo takes the answer back', async () => {
    await withHome(async (home) => {
      for (const value of [110, 610, 615, 620]) {
        home.system.advance(HOUR_MS);
        await home.tell({ 'sensor.feed': value });
      }
      const [question] = home.app.questions(false);
      assert.equal(question?.kind, 'suspicious-fall');
      assert.match(question?.text ?? '', /rose from 110 to 610 faster than it can/);
      assert.equal(home.app.status().openQuestions, 1);
      const [low, , high] = figure(home, 'carbon');
      assert.deepEqual([low, high], [20, 520]);
      const id = question?.id ?? '';
      assert.equal(await code(() => home.app.answer('other', ana, 'yes')), 'SW-REC-017');
      assert.equal(await code(() => home.app.answer(id, ana, 'maybe')), 'SW-REC-018');
      assert.equal((await home.app.answer(id, ana, 'yes')).answer?.by, 'Ana');
      assert.deepEqual(figure(home, 'carbon'), [520, 520, 520]);
      assert.deepEqual(home.app.questions(false), []);
      assert.equal(home.app.questions(true).length, 1);
      await home.app.undo('carbon', ana);
      assert.deepEqual(figure(home, 'carbon'), [20, 20, 520]);
      return home;
    });
  });
});

describe('seed', () => {
  const hour = (index: number, watts: number): HourStatistic => ({
    entity: 'sensor.lamp_power',
    from: T0 - DAY_MS - (100 - index) * HOUR_MS,
    to: T0 - DAY_MS - (99 - index) * HOUR_MS,
    state: null,
    sum: null,
    min: watts,
    mean: watts,
    max: watts,
  });

  test('what hourly statistics still know of the time before counting is not asked of the keeper', async () => {
    // Ten hours lit of each twenty, for the hundred hours before counting began.
    const hours = Array.from({ length: 100 }, (_, index) => hour(index, index % 20 < 10 ? 100 : 0));
    await withHome(
      async (home) => {
        const usage = await home.app.seed('tubes', ana, { fittedAt: T0 - DAY_MS - 100 * HOUR_MS });
        const [first] = usage.measures;
        assert.ok(first !== undefined && first.low >= 49 && first.high <= 53, JSON.stringify(first));
        const earlier = await home.app.seed('tubes', ana, { fittedAt: T0 - DAY_MS - 150 * HOUR_MS });
        const [second] = earlier.measures;
        assert.ok(second !== undefined && second.low >= 49 && second.high >= first.high + 45, JSON.stringify(second));
        return home;
      },
      { hours },
    );
  });

  test('usage explains itself: word, statistics, what nobody saw, and what was counted add up to the figure', async () => {
    const hours = Array.from({ length: 100 }, (_, index) => hour(index, index % 20 < 10 ? 100 : 0));
    await withHome(
      async (home) => {
        const adds = (part: string) => {
          const rows = home.app.why(part)[0]?.rows ?? [];
          const sum = (pick: (row: { low: number; best: number; high: number }) => number) =>
            Math.round(rows.reduce((total, row) => total + pick(row), 0) * 1e6) / 1e6;
          assert.deepEqual([sum((row) => row.low), sum((row) => row.best), sum((row) => row.high)], figure(home, part));
          return rows.map(({ origin }) => origin);
        };
        await home.app.seed('wet-end', ana, { fittedAt: T0 - 50 * DAY_MS });
        home.system.advance(7 * HOUR_MS);
        // The hub knows nothing of the pump before counting began.
        assert.equal(adds('wet-end')[0], 'assumed');
        const used = { 'on-hours': { low: 900, best: 1000, high: 1100 } };
        await home.app.seed('wet-end', ana, { fittedAt: T0 - 50 * DAY_MS, used });
        assert.equal(home.app.why('wet-end')[0]?.rows[0]?.origin, 'person');
        await home.app.seed('tubes', ana, { fittedAt: T0 - DAY_MS - 150 * HOUR_MS });
        assert.ok(adds('tubes').includes('statistics'));
        return home;
      },
      { hours },
    );
  });

  test('the word of a keeper stands, and is kept over a restart', async () => {
    await withHome(async (home) => {
      const used = { 'on-hours': { low: 900, best: 1000, high: 1100 } };
      await home.app.seed('wet-end', ana, { fittedAt: T0 - 90 * DAY_MS, used });
      home.system.advance(10 * HOUR_MS);
      assert.deepEqual(figure(home, 'wet-end'), [910, 1010, 1110]);
      const again = await home.restart();
      assert.deepEqual(figure(again, 'wet-end'), [910, 1010, 1110]);
      return again;
    });
  });
});

describe('spares, pieces, recount', () => {
  test('a spare takes its turn and resumes, also over a restart', async () => {
    await withHome(async (first) => {
      first.system.advance(10 * HOUR_MS);
      const usage = await first.app.fitted('wet-end', ana, { with: 'end-b' });
      assert.equal(usage.spare, 'end-b');
      first.system.advance(5 * HOUR_MS);
      assert.deepEqual(figure(first, 'wet-end'), [5, 5, 5]);
      const second = await first.restart();
      await second.app.fitted('wet-end', ana, { with: 'end-a' });
      second.system.advance(HOUR_MS);
      assert.deepEqual(figure(second, 'wet-end'), [35, 35, 35]);
      assert.equal(await code(() => second.app.fitted('tubes', ana, { with: 'x' })), 'SW-REC-007');
      return second;
    });
  });

  test('one of two tubes: the reason says that it is the oldest of them', async () => {
    await withHome(async (home) => {
      const usage = await home.app.fitted('tubes', ana, { pieces: 1 });
      assert.equal(usage.pieces?.length, 2);
      const standing = home.app.due().find(({ part }) => part === 'tubes');
      assert.match(standing?.reason ?? '', /the oldest of 2 pieces/);
      home.system.advance(MINUTE_MS);
      const whole = await home.app.fitted('tubes', ana, { pieces: 2 });
      assert.deepEqual([whole.life, whole.pieces], [2, undefined]);
      return home;
    });
  });

  test('a wrong threshold is counted again from the minutes that were kept', async () => {
    await withHome(async (home) => {
      for (const watts of [30, 0, 30, 0]) {
        await home.tell({ 'sensor.lamp_power': watts });
        home.system.advance(6 * HOUR_MS);
      }
      await home.tell({ 'sensor.lamp_power': 0 });
      assert.deepEqual(figure(home, 'tubes'), [0, 0, 0]);
      const shown = await home.app.recount('tubes', ana, 20, false);
      assert.deepEqual([shown.old.best, shown.taken], [0, false]);
      assert.ok(Math.abs(shown.now.low - 12) < 0.1 && Math.abs(shown.now.high - 12) < 0.1, JSON.stringify(shown.now));
      await home.app.recount('tubes', ana, 20, true);
      assert.ok(Math.abs((figure(home, 'tubes')[1] ?? 0) - 12) < 0.1);
      await home.app.undo('tubes', ana);
      assert.deepEqual(figure(home, 'tubes'), [0, 0, 0]);
      assert.equal(await code(() => home.app.recount('wet-end', ana, 20, false)), 'SW-REC-013');
      return home;
    });
  });
});

describe('periods', () => {
  test('today, week, month and lifetime in the zone, with what has passed since the last report', async () => {
    await withHome(async (home) => {
      home.system.advance(6 * HOUR_MS);
      const of = (period: 'today' | 'week' | 'month' | 'service' | 'lifetime') => {
        const found = home.app.usageIn(period).find(({ part }) => part === 'wet-end');
        assert.ok(found);
        return [found.from, found.measures[0]?.low, found.measures[0]?.high];
      };
      // 10 January 2026 is a Saturday; counting began on the 9th at midnight.
      assert.deepEqual(of('today'), [T0, 6, 6]);
      assert.deepEqual(of('lifetime'), [T0 - DAY_MS, 30, 30]);
      assert.deepEqual(of('service'), [T0 - DAY_MS, 30, 30]);
      const [monday, low, high] = of('week');
      assert.deepEqual([monday, low, high], [Date.UTC(2026, 0, 5), 30, 30 + 4 * 24]);
      assert.equal(of('month')[0], Date.UTC(2026, 0, 1));
      return home;
    });
  });
});

describe('a period that begins inside a gap', () => {
  test('what a meter proves of the whole gap is not proved of either side', async () => {
    const yaml = `tank: { name: Bench, zone: UTC, volume: 200 L }
hub: { url: http://hub, token: { env: T } }
equipment: { ro: { role: ro-unit, driver: always-on, switch: switch.ro } }
counters: { feed: { total: { entity: sensor.feed, unit: L, maxPerHour: 60 L } } }
parts:
  sediment: { kind: sediment-cartridge, equipment: ro, fitted: 2026-01-09, limits: { litres: 10000 L }, counts: { litres: feed } }
people: { ana: { name: Ana } }
`;
    const rows = [
      observed('sensor.feed', T0 - 4 * HOUR_MS, 100),
      observed('sensor.feed', T0 - 3 * HOUR_MS, null),
      observed('sensor.feed', T0 - HOUR_MS / 2, null),
    ];
    const home = await keeperHome(yaml, { rows });
    home.system.advance(2 * HOUR_MS);
    await home.tell({ 'sensor.feed': 130 });
    const today = home.app.usageIn('today')[0]?.measures[0];
    const week = home.app.usageIn('week')[0]?.measures[0];
    assert.equal(week?.low, 30);
    // All thirty litres may have run before midnight, or all after it.
    assert.equal(today?.low, 0);
    assert.ok((today?.high ?? 0) >= 30);
    await home.stop();
  });
});

describe('status', () => {
  test('tells version, clocks, the longest absence, since when, and questions', async () => {
    await withHome(async (home) => {
      const { version, clockSkewMs, bridgeableMs, countingSince, openQuestions, warnings } = home.app.status();
      assert.deepEqual(
        { version, clockSkewMs, bridgeableMs, countingSince, openQuestions, warnings },
        {
          version: '1.2.3',
          clockSkewMs: 0,
          bridgeableMs: 10 * DAY_MS,
          countingSince: T0 - DAY_MS,
          openQuestions: 0,
          warnings: [],
        },
      );
      return home;
    });
  });
});
