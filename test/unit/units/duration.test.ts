import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  DAY_MS,
  formatBounds,
  formatDuration,
  formatSpan,
  HOUR_MS,
  MINUTE_MS,
  parseDuration,
  SECOND_MS,
} from '../../../src/units/index.ts';

function ms(text: string): number {
  const parsed = parseDuration(text);
  assert.ok(parsed.ok, `${text}: ${JSON.stringify(parsed)}`);
  return parsed.value;
}

describe('parseDuration', () => {
  test('reads the units keepers write', () => {
    assert.equal(ms('30 s'), 30 * SECOND_MS);
    assert.equal(ms('15min'), 15 * MINUTE_MS);
    assert.equal(ms('3,600 h'), 3600 * HOUR_MS);
    assert.equal(ms('90 days'), 90 * DAY_MS);
    assert.equal(ms('2 wk'), 14 * DAY_MS);
    assert.equal(ms('1.5 h'), 90 * MINUTE_MS);
    assert.equal(ms('3 h 20 min'), 200 * MINUTE_MS);
    assert.equal(ms('250 ms'), 250);
  });

  test('twelve months, one year and 365 days are the same limit', () => {
    assert.equal(ms('12 mo'), 365 * DAY_MS);
    assert.equal(ms('1 y'), 365 * DAY_MS);
    assert.equal(ms('6 mo'), 182.5 * DAY_MS);
    assert.equal(ms('3 y'), 1095 * DAY_MS);
  });

  test('refuses what could mean two things', () => {
    const found = (text: string) => {
      const parsed = parseDuration(text);
      return parsed.ok ? parsed.value : parsed.found;
    };
    assert.equal(found('5 m'), '"5 m" ("m" could be minutes or months: write min or mo)');
    assert.equal(found('90'), '"90" (no unit)');
    assert.equal(found('1,5 h'), '"1,5 h" (a comma or point in the wrong place)');
    assert.equal(found('5 fortnights'), '"5 fortnights" (unknown unit "fortnights")');
    assert.equal(found('5 constructor'), '"5 constructor" (unknown unit "constructor")');
    assert.equal(found('soon'), '"soon"');
    assert.equal(found(''), '""');
  });

  test('reads back what formatDuration wrote, exactly', () => {
    fc.assert(
      fc.property(fc.integer({ min: -(10 ** 13), max: 10 ** 13 }), (x) => {
        assert.equal(ms(formatDuration(x)), x);
      }),
    );
    for (const x of [0, 1, 999, 1000, 60_000, 3_600_000, DAY_MS - 1, DAY_MS, 0.25])
      assert.equal(ms(formatDuration(x)), x);
  });
});

describe('formatSpan', () => {
  test('says at most two units', () => {
    const rows: readonly (readonly [number, string])[] = [
      [0, '0 s'],
      [400, '0.4 s'],
      [20 * SECOND_MS, '20 s'],
      [150 * SECOND_MS, '2 min 30 s'],
      [47 * MINUTE_MS + 12_000, '47 min'],
      [59 * MINUTE_MS + 40_000, '1 h'],
      [200 * MINUTE_MS, '3 h 20 min'],
      [23 * HOUR_MS + 59.9 * MINUTE_MS, '1 d'],
      [53 * HOUR_MS, '2 d 5 h'],
      [9 * DAY_MS + 23.8 * HOUR_MS, '10 d'],
      [11 * DAY_MS + 5 * HOUR_MS, '11 d'],
      [-200 * MINUTE_MS, '-3 h 20 min'],
      [1_200 * DAY_MS, '1,200 d'],
      [Number.NaN, 'unknown'],
    ];
    for (const [span, text] of rows) assert.equal(formatSpan(span), text);
  });

  test('never strays from the truth by more than one in twenty, or half a second', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1000, max: 10 ** 12 }), (x) => {
        assert.ok(Math.abs(ms(formatSpan(x)) - x) <= Math.max(500, x / 20), formatSpan(x));
      }),
    );
  });
});

describe('formatBounds', () => {
  test('shows bounds only where they differ at the shown precision', () => {
    assert.equal(formatBounds({ low: 3090, best: 3096, high: 3110 }, 'h'), '3,096 h (3,090 to 3,110)');
    assert.equal(formatBounds({ low: 3096, best: 3096, high: 3096.2 }, 'h'), '3,096 h');
    assert.equal(formatBounds({ low: 0, best: 12.25, high: 40 }, 'L'), '12.3 L (0 to 40)');
    assert.equal(formatBounds({ low: 1, best: 1.5, high: Number.POSITIVE_INFINITY }, 'L'), '1.5 L (1 to unknown)');
  });
});
