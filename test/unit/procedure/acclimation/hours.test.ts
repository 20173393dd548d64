import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import { GRAINS_PER_UNIT, type Slice } from '../../../../src/count/index.ts';
import {
  type CountedHour,
  countedHours,
  hoursText,
  parseHours,
  usualHours,
} from '../../../../src/procedure/acclimation/index.ts';
import { dayStart } from '../../../../src/units/index.ts';
import { DAY, HOUR, MINUTE, T0 } from './world.ts';

/** Hour by hour, lit from one minute of the local day to another on each of so many days. */
function lit(days: number, fromMinute: number, toMinute: number, zone = 'UTC', now = T0 + 20 * DAY): CountedHour[] {
  const hours = new Map<number, number>();
  for (let day = 1; day <= days; day++) {
    const midnight = dayStart(now - day * DAY, zone);
    const [from, to] = [midnight + fromMinute * MINUTE, midnight + toMinute * MINUTE];
    for (let hour = Math.floor(from / HOUR) * HOUR; hour < to; hour += HOUR)
      hours.set(hour, Math.min(to, hour + HOUR) - Math.max(from, hour));
  }
  return [...hours].map(([hour, onMs]) => ({ hour, onMs }));
}

const NOW = T0 + 20 * DAY;

describe('usual hours of a lamp', () => {
  test('come out of what was counted to the minute, whatever they are and wherever', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 23 * 60 }),
        fc.integer({ min: 121, max: 18 * 60 }),
        fc.constantFrom('UTC', 'Europe/London', 'Asia/Kolkata', 'America/New_York'),
        (from, minutes, zone) => {
          const found = usualHours(lit(14, from, from + minutes, zone), NOW, zone);
          assert.ok(found.hours !== null, 'why' in found ? found.why : '');
          assert.ok(Math.abs(found.hours.onMinute - from) <= 1, `${found.hours.onMinute} of ${from}`);
          assert.ok(Math.abs(found.hours.litMs / MINUTE - minutes) <= 1);
        },
      ),
      { numRuns: 60 },
    );
  });

  test('few days, hours that change, gaps and whole nights of light are not taken for usual', () => {
    const why = (counted: readonly CountedHour[]): string => {
      const found = usualHours(counted, NOW, 'UTC');
      return found.hours === null ? found.why : 'known';
    };
    assert.match(why([]), /only 0 show one plain stretch/);
    assert.match(why(lit(4, 570, 1110)), /only 4 show/);
    const mixed = [...lit(14, 570, 1110).filter(({ hour }) => hour < NOW - 6 * DAY), ...lit(6, 660, 1020)];
    assert.match(why(mixed), /days were lit at the same hours/);
    assert.match(why(lit(14, 570, 1110).filter(({ hour }) => hour % DAY !== 12 * HOUR)), /only 0 show/);
    assert.match(why(lit(14, 60, 60 + 19 * 60)), /more than 18 h/);
    assert.equal(why(lit(14, 570, 1110)), 'known');
  });

  test('an hour of which part was out of sight is not taken', () => {
    const grains = GRAINS_PER_UNIT['on-hours'];
    const slice = (hour: number, low: number, high: number): Slice => ({
      ...{ counter: 'lit', measure: 'on-hours', hour, origin: 'live' },
      add: { low: low * grains, best: low * grains, high: high * grains },
    });
    assert.deepEqual(countedHours([slice(0, 0.25, 0.25), slice(0, 0.5, 0.5), slice(HOUR, 0.2, 1)]), [
      { hour: 0, onMs: 0.75 * HOUR },
    ]);
  });

  test('are read as they are written', () => {
    assert.equal(hoursText(parseHours('9:30 - 18:30') ?? assert.fail()), '09:30-18:30');
    assert.equal(hoursText(parseHours('20:00-05:00') ?? assert.fail()), '20:00-05:00');
    for (const wrong of ['', '9-18', '09:30-09:30', '09:00-08:00', '25:00-26:00', '09:30-18:60'])
      assert.equal(parseHours(wrong), null, wrong);
  });
});
