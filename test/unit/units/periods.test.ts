import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  DAY_MS,
  dateStart,
  dayLengthMs,
  dayStart,
  formatClock,
  formatInstant,
  isZone,
  localDate,
  localTime,
  monthStart,
  nextDayStart,
  parseInstant,
  splitByDay,
  weekStart,
  zoneNames,
} from '../../../src/units/index.ts';

// Day lengths and lit times worked out from the IANA time zone data by another library; each row names its source.
type Row = { id: string; inputs: Record<string, unknown>; expected: unknown; source: string };
const rows: Row[] = JSON.parse(readFileSync(new URL('./check-values-dst.json', import.meta.url), 'utf8'));
const text = (value: unknown) => String(value);

function row(id: string): Row {
  const found = rows.find((each) => each.id === id);
  assert.ok(found, id);
  return found;
}

describe('day lengths from the IANA data', () => {
  const dated = rows.filter((each) => 'date' in each.inputs);
  assert.ok(dated.length >= 16, `only ${dated.length} rows`);
  for (const { id, inputs, expected } of dated) {
    test(id, () => {
      const [zone, date] = [text(inputs['zone']), text(inputs['date'])];
      const want = expected as { seconds_between_local_midnights: number; utc_start: string; utc_end: string };
      const start = Date.parse(want.utc_start);
      const end = Date.parse(want.utc_end);
      assert.equal(dayLengthMs(date, zone), want.seconds_between_local_midnights * 1000);
      assert.equal(dateStart(date, zone), start);
      assert.equal(nextDayStart(start, zone), end);
      assert.equal(dayStart(end - 1, zone), start);
      assert.equal(localDate(start, zone), date);
      assert.equal(localDate(end - 1, zone), date);
    });
  }

  for (const { id, inputs, expected } of rows.filter((each) => 'local_day' in each.inputs)) {
    test(id, () => {
      const [zone, date] = [text(inputs['zone']), text(inputs['local_day'])];
      const want = expected as Record<string, number>;
      const before = Temporal.PlainDate.from(date).subtract({ days: 1 }).toString();
      const seconds = (from: number, to: number) => (to - from) / 1000;
      assert.equal(dayLengthMs(date, zone) / 1000, want['day_s']);
      assert.equal(seconds(localTime(date, '00:00', zone), localTime(date, '06:00', zone)), want['on_00_to_06_s']);
      assert.equal(seconds(localTime(date, '09:00', zone), localTime(date, '21:00', zone)), want['on_09_to_21_s']);
      assert.equal(
        seconds(localTime(before, '22:00', zone), localTime(date, '06:00', zone)),
        want['on_22_prev_to_06_s'],
      );
    });
  }

  test('a date that the zone skipped has no length', () => {
    // Samoa went from 29 to 31 December 2011 (IANA data, see row dst-Pacific_Apia-20111229).
    assert.equal(dayLengthMs('2011-12-30', 'Pacific/Apia'), 0);
  });

  for (const id of ['dst-lamp-night', 'dst-lamp-night-autumn', 'dst-lamp-day']) {
    test(id, () => {
      const { inputs, expected } = row(id);
      const zone = text(inputs['zone']);
      const times = /^(\d\d:\d\d) to (\d\d:\d\d)( next day)?$/.exec(text(inputs['window_local']));
      assert.ok(times);
      const got = (inputs['start_dates'] as [number, number, number][]).map(([year, month, day]) => {
        const date = new Temporal.PlainDate(year, month, day);
        const endDate = times[3] === undefined ? date : date.add({ days: 1 });
        return (
          (localTime(endDate.toString(), text(times[2]), zone) - localTime(date.toString(), text(times[1]), zone)) /
          1000
        );
      });
      assert.deepEqual(got, expected);
    });
  }

  test('dst-ontime-split: on-time is split by real hours, not by the wall clock', () => {
    const { inputs, expected } = row('dst-ontime-split');
    const from = Date.parse(text(inputs['on']));
    const to = Date.parse(text(inputs['off']));
    const slices = splitByDay(from, to, text(inputs['zone'])).map((each) => [each.date, (each.to - each.from) / 1000]);
    const want = expected as { total_s: number; day_0329_s: number; day_0330_s: number };
    assert.equal((to - from) / 1000, want.total_s);
    assert.deepEqual(slices, [
      ['2025-03-29', want.day_0329_s],
      ['2025-03-30', want.day_0330_s],
    ]);
  });
});

describe('periods', () => {
  const zones = fc.constantFrom(
    'Europe/Berlin',
    'America/New_York',
    'Australia/Lord_Howe',
    'Africa/Cairo',
    'Asia/Kolkata',
    'UTC',
  );
  // 2000 to 2035.
  const instants = fc.integer({ min: 946_684_800_000, max: 2_051_222_400_000 });

  test('start of day, week and month hold the instant and nest', () => {
    fc.assert(
      fc.property(instants, zones, (at, zone) => {
        const [day, week, month] = [dayStart(at, zone), weekStart(at, zone), monthStart(at, zone)];
        assert.ok(day <= at && at < nextDayStart(at, zone));
        assert.ok(week <= day && day - week <= 6 * DAY_MS + 3_600_000);
        assert.ok(month <= day && day - month < 31 * DAY_MS);
        assert.equal(dayStart(day, zone), day);
        assert.equal(weekStart(week, zone), week);
        assert.equal(monthStart(month, zone), month);
      }),
    );
  });

  test('slices by day cover a stretch without hole or overlap', () => {
    fc.assert(
      fc.property(instants, fc.integer({ min: 0, max: 40 * DAY_MS }), zones, (from, length, zone) => {
        const slices = splitByDay(from, from + length, zone);
        assert.equal(slices[0]?.from ?? from, from);
        assert.equal(
          slices.reduce((sum, each) => sum + each.to - each.from, 0),
          length,
        );
        for (const each of slices) {
          assert.equal(localDate(each.from, zone), each.date);
          assert.equal(localDate(each.to - 1, zone), each.date);
        }
      }),
    );
  });

  test('a week starts on Monday, as ISO 8601 has it', () => {
    // 1 January 2026 is a Thursday; its week starts on 29 December 2025 (from memory, calendar).
    assert.equal(weekStart(Date.UTC(2026, 0, 1, 12), 'UTC'), Date.UTC(2025, 11, 29));
  });

  test('zones are known by their IANA names only', () => {
    assert.ok(isZone('Europe/London') && isZone('UTC'));
    assert.ok(!isZone('Europe/Londn') && !isZone('+01:00') && !isZone(''));
    assert.ok(zoneNames().includes('Europe/London'));
  });
});

describe('instants', () => {
  test('are shown in the zone, with the offset only in the hour that comes twice', () => {
    assert.equal(formatInstant(Date.UTC(2026, 0, 5, 14, 30), 'Europe/London'), '2026-01-05 14:30');
    assert.equal(
      formatInstant(Date.UTC(2026, 0, 5, 14, 30, 9), 'Europe/Berlin', { seconds: true }),
      '2026-01-05 15:30:09',
    );
    assert.equal(formatInstant(Date.UTC(2026, 9, 25, 0, 30), 'Europe/Berlin'), '2026-10-25 02:30 +02:00');
    assert.equal(formatInstant(Date.UTC(2026, 9, 25, 1, 30), 'Europe/Berlin'), '2026-10-25 02:30 +01:00');
    assert.equal(formatClock(Date.UTC(2026, 0, 5, 14, 30), 'Asia/Kolkata'), '20:00');
    assert.equal(formatInstant(Number.NaN, 'UTC'), 'unknown');
  });

  test('a day alone means its start in the zone', () => {
    assert.deepEqual(parseInstant('2026-07-05', 'Europe/London'), { ok: true, value: Date.UTC(2026, 6, 4, 23) });
    assert.deepEqual(parseInstant('2026-07-05 14:30', 'Europe/London'), {
      ok: true,
      value: Date.UTC(2026, 6, 5, 13, 30),
    });
    assert.deepEqual(parseInstant('2026-07-05T14:30Z', 'Europe/London'), {
      ok: true,
      value: Date.UTC(2026, 6, 5, 14, 30),
    });
    assert.deepEqual(parseInstant('2026-07-05T14:30+02:00', 'UTC'), { ok: true, value: Date.UTC(2026, 6, 5, 12, 30) });
  });

  test('a day that does not exist is refused', () => {
    for (const wrong of ['2026-02-30', '2026-13-01', '05.01.2026', '2026-01-05 25:00', 'yesterday', '']) {
      assert.equal(parseInstant(wrong, 'UTC').ok, false, wrong);
    }
  });

  test('what is shown reads back to the same minute', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 2_051_222_400_000 }), (at) => {
        const minute = at - (at % 60_000);
        assert.deepEqual(parseInstant(formatInstant(minute, 'Europe/Berlin'), 'Europe/Berlin'), {
          ok: true,
          value: minute,
        });
      }),
    );
  });
});
