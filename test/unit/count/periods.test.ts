import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { foldObservations, initialStates, passedSlices, periodUsage, type Slice } from '../../../src/count/index.ts';
import { DAY_MS, dateStart, HOUR_MS, localTime, MINUTE_MS } from '../../../src/units/index.ts';
import { check } from './check-values.ts';
import { counter, ENTITY, foldRows, lamp, meter, type Row, seen } from './make.ts';

const exact = (amount: number) => ({ low: amount, best: amount, high: amount });
const bounds = ({ low, best, high }: { low: number; best: number; high: number }) => ({ low, best, high });

/** A lamp by local wall time on each of the days. */
function lit(zone: string, days: readonly string[], on: string, off: string): readonly Row[] {
  return days.flatMap((date): Row[] => {
    const from = localTime(date, on, zone);
    const to = localTime(date, off, zone);
    return [
      [from, 1],
      [to > from ? to : localTime(nextDate(date), off, zone), 0],
    ];
  });
}

const nextDate = (date: string, days = 1): string => Temporal.PlainDate.from(date).add({ days }).toString();

describe('a day with a clock change is as long as it is', () => {
  type Day = { inputs: { zone: string; local_day: string }; expected: Record<string, number> };
  for (const id of [
    'dst-Berlin-2026-10-25',
    'dst-New_York-2026-03-08',
    'dst-New_York-2026-11-01',
    'dst-Lord_Howe-2026-04-05',
  ]) {
    test(`${id}: always on, a morning, a day and a night lamp`, () => {
      const { inputs, expected } = check<Day['inputs'], Day['expected']>(id);
      const { zone, local_day: date } = inputs;
      const days = [nextDate(date, -1), date, nextDate(date)];
      const now = dateStart(nextDate(date), zone) - 1;
      const today = (rows: readonly Row[]) => {
        const begun: Row = [dateStart(nextDate(date, -2), zone), 0];
        const { slices } = foldRows(
          lamp,
          [begun, ...rows].filter(([at]) => at <= now + 1),
        );
        return bounds(periodUsage(slices, 'on-hours', 'today', now, zone));
      };
      const s = (key: string): number => (expected[key] ?? Number.NaN) / 3600;
      const always: readonly Row[] = [
        [dateStart(days[0] ?? date, zone), 1],
        [now + 1, 0],
      ];
      assert.deepEqual(today(always), exact(s('day_s')));
      assert.deepEqual(today(lit(zone, days, '00:00', '06:00')), exact(s('on_00_to_06_s')));
      assert.deepEqual(today(lit(zone, days, '09:00', '21:00')), exact(s('on_09_to_21_s')));
      // The whole night, by the day after: what lies on both sides of midnight.
      const night = lit(zone, [nextDate(date, -1)], '22:00', '06:00');
      const since = { since: localTime(nextDate(date, -1), '12:00', zone) };
      const { slices } = foldRows(lamp, [[since.since - DAY_MS, 0], ...night]);
      assert.deepEqual(bounds(periodUsage(slices, 'on-hours', since, now, zone)), exact(s('on_22_prev_to_06_s')));
    });
  }

  test('spring in Berlin and on Lord Howe Island: 23 h and 23.5 h', () => {
    for (const id of ['dst-Europe_Berlin-20260329', 'dst-Australia_Lord_Howe-20251005', 'dst-Asia_Kolkata-20250330']) {
      const { inputs, expected } = check<
        { zone: string; date: string },
        { seconds_between_local_midnights: number; utc_start: string }
      >(id);
      const from = Date.parse(expected.utc_start);
      const { slices } = foldRows(lamp, [
        [from - 2 * DAY_MS, 1],
        [from + 3 * DAY_MS, 0],
      ]);
      const now = dateStart(nextDate(inputs.date), inputs.zone) - 1;
      const upTo = slices.filter(({ hour }) => hour < now);
      const today = periodUsage(upTo, 'on-hours', 'today', now, inputs.zone);
      assert.equal(today.from, from);
      // Only whole hours are booked here; the last one may reach half an hour past midnight.
      assert.ok(Math.abs(today.best - expected.seconds_between_local_midnights / 3600) <= 0.5, id);
    }
  });

  test('a zone off by half an hour cuts hours: what lies in them is bounded, the rest exact', () => {
    const zone = 'Asia/Kolkata';
    const midnight = dateStart('2026-05-04', zone);
    const { slices } = foldRows(lamp, [
      [midnight - DAY_MS, 0],
      [midnight + 10 * MINUTE_MS, 1],
      [midnight + 90 * MINUTE_MS, 0],
    ]);
    const today = bounds(periodUsage(slices, 'on-hours', 'today', midnight + 10 * HOUR_MS, zone));
    // Of the hour 18:00-19:00 UTC, midnight in its middle, the lamp was on for 20 minutes, at either end.
    assert.deepEqual(today, { low: 1, best: 1 + 10 / 60, high: 1 + 20 / 60 });
  });
});

describe('weeks, months and years by the calendar of the zone', () => {
  // Days of the month times 24 h, one less or more with the clock changes of Berlin: by hand from a calendar.
  const MONTHS: readonly (readonly [string, number])[] = [
    ['2026-02-28', 28 * 24],
    ['2028-02-29', 29 * 24],
    ['2026-03-31', 31 * 24 - 1],
    ['2026-04-30', 30 * 24],
    ['2026-10-31', 31 * 24 + 1],
    ['2026-12-31', 31 * 24],
  ];
  for (const [date, hours] of MONTHS) {
    test(`the month that ends on ${date}`, () => {
      const zone = 'Europe/Berlin';
      const end = dateStart(nextDate(date), zone);
      const { slices } = foldRows(lamp, [
        [end - 40 * DAY_MS, 1],
        [end, 0],
      ]);
      assert.deepEqual(bounds(periodUsage(slices, 'on-hours', 'month', end - 1, zone)), exact(hours));
      assert.deepEqual(bounds(periodUsage(slices, 'on-hours', 'lifetime', end - 1, zone)), exact(960));
      // A moment later it is another month, and nothing was booked in it.
      assert.deepEqual(bounds(periodUsage(slices, 'on-hours', 'month', end, zone)), exact(0));
    });
  }

  test('leap-2024: from 28 February to 1 March two days', () => {
    const { inputs, expected } = check<{ from: string; to: string }, number>('leap-2024');
    const from = dateStart(inputs.from, 'Etc/UTC');
    const to = dateStart(inputs.to, 'Etc/UTC');
    const { slices } = foldRows(lamp, [
      [from - DAY_MS, 1],
      [to, 0],
    ]);
    assert.equal(periodUsage(slices, 'on-hours', { since: from }, to, 'Etc/UTC').best * 3600, expected);
  });

  test('the week begins on Monday (ISO 8601)', () => {
    const zone = 'America/New_York';
    // 2026-03-08, the day of the spring change, is a Sunday: its week began on the 2nd.
    const now = localTime('2026-03-08', '23:00', zone);
    const { slices } = foldRows(lamp, [
      [dateStart('2026-02-25', zone), 1],
      [now, 0],
    ]);
    const week = periodUsage(slices, 'on-hours', 'week', now, zone);
    assert.equal(week.from, dateStart('2026-03-02', zone));
    assert.deepEqual(bounds(week), exact(7 * 24 - 2));
  });
});

describe('what is not booked yet, and clocks that differ', () => {
  const zone = 'Europe/Berlin';
  const eight = localTime('2026-06-10', '08:00', zone);
  const { state, slices } = foldRows(lamp, [
    [eight - 10 * HOUR_MS, 0],
    [eight, 1],
  ]);

  test('a lamp lit since eight: by three in the afternoon seven hours of today', () => {
    const now = eight + 7 * HOUR_MS;
    const all = [...slices, ...passedSlices(lamp, state, now)];
    assert.deepEqual(bounds(periodUsage(all, 'on-hours', 'today', now, zone)), exact(7));
    assert.deepEqual(bounds(periodUsage(slices, 'on-hours', 'today', now, zone)), exact(0));
  });

  test('our clock an hour or a year behind the hub: the day of the newest booked hour, not all since a year ago', () => {
    const booked = foldRows(lamp, [
      [eight - 100 * DAY_MS, 1],
      [eight, 0],
    ]).slices;
    for (const now of [eight - HOUR_MS, eight - 365 * DAY_MS]) {
      assert.deepEqual(bounds(periodUsage(booked, 'on-hours', 'today', now, zone)), exact(8));
      assert.deepEqual(passedSlices(lamp, state, now), []);
    }
  });

  test('our clock a year ahead: nothing was booked on that day', () => {
    assert.deepEqual(bounds(periodUsage(slices, 'on-hours', 'today', eight + 365 * DAY_MS, zone)), exact(0));
  });
});

describe('a gap across the border of a period, of which a meter tells only the sum', () => {
  const zone = 'Etc/UTC';
  const midnight = dateStart('2026-06-10', zone);

  test('litres: all of them may have run on either side', () => {
    const { slices } = foldRows(meter('confirmed', 60), [
      [midnight - 6 * HOUR_MS, 1000],
      [midnight - 2 * HOUR_MS, null],
      [midnight + 2 * HOUR_MS, 1040],
      [midnight + 3 * HOUR_MS, 1050],
    ]);
    const today = bounds(periodUsage(slices, 'litres', 'today', midnight + 4 * HOUR_MS, zone));
    assert.deepEqual(today, { low: 10, best: 20, high: 50 });
    assert.deepEqual(bounds(periodUsage(slices, 'litres', 'lifetime', midnight + 4 * HOUR_MS, zone)), exact(50));
  });

  test('on-time: not more than the clock has room for, and what has no room outside is proven', () => {
    const by = { unitsPerReading: 1, leastPerHourOn: 0.1, mostPerHourOn: 0.1, mostPerHourOff: 0, coarseness: 0 };
    const def = counter({ kind: 'on-state', entity: ENTITY, narrowedBy: { entity: 'sensor.kwh', ...by } }, 'on-hours');
    const feed = [
      seen(midnight - 9 * HOUR_MS, 1),
      seen(midnight - 9 * HOUR_MS, 50, 'live', 'sensor.kwh'),
      seen(midnight - 2 * HOUR_MS, 50.7, 'live', 'sensor.kwh'),
      seen(midnight - 2 * HOUR_MS, null),
      seen(midnight - 2 * HOUR_MS + 1, null, 'live', 'sensor.kwh'),
      seen(midnight + 2 * HOUR_MS, 0),
      seen(midnight + 2 * HOUR_MS, 51, 'live', 'sensor.kwh'),
    ];
    const { slices } = foldObservations([def], initialStates([def]), feed) as { slices: readonly Slice[] };
    // Three hours of four, two of them after midnight: at least one there, at most two.
    const today = bounds(periodUsage(slices, 'on-hours', 'today', midnight + 4 * HOUR_MS, zone));
    assert.deepEqual(today, { low: 1, best: 1.5, high: 2 });
  });
});
