import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import { HOUR_MS, MINUTE_MS } from '../../../src/units/index.ts';
import { holds } from './checked.ts';
import { courses, hiddenIn, hiddenMs, inside, type Piece, pieces, shownAt, total, visible } from './course.ts';
import { counter, ENTITY, foldRows, heldPower, lamp, meter, type Row, T0 } from './make.ts';

describe('the truth lies between low and high, whatever is hidden', () => {
  test('on-hours and starts; the doubt in hours is exactly what was hidden', (t) => {
    holds(
      t,
      fc.property(courses(30_000, 3 * HOUR_MS), ([lengths, hidden]) => {
        const course = pieces(lengths, (index) => index % 2);
        const end = T0 + total(lengths);
        const onMs = total(lengths.filter((_, index) => index % 2 === 1));
        const starts = Math.floor(lengths.length / 2);
        const shown = shownAt(lamp, visible(course, hidden), end);
        inside(onMs / HOUR_MS, shown['on-hours'], 1e-9);
        inside(starts, shown.starts);
        const { low = 0, high = 0 } = shown['on-hours'] ?? {};
        assert.ok(Math.abs((high - low) * HOUR_MS - hiddenMs(hidden)) < 1e-3);
        if (hidden.length === 0) assert.deepEqual(shown.starts, { low: starts, best: starts, high: starts });
      }),
    );
  });

  test('starts by power, where short runs do not count and short pauses do not end a run', (t) => {
    const minOnMs = 20_000;
    const minOffMs = 45_000;
    const def = counter(
      { kind: 'power-threshold', entity: ENTITY, onAboveW: 10, offBelowW: 5, minOnMs, minOffMs },
      'on-hours',
      'starts',
    );
    /** From the definition, over the whole true course: runs are what long pauses part; a run counts with one long stretch. */
    const trueStarts = (lengths: readonly number[]): number => {
      let counted = 0;
      let runHasLong = false;
      for (const [index, length] of lengths.entries()) {
        if (index % 2 === 1) runHasLong ||= length >= minOnMs;
        else if (length >= minOffMs) {
          counted += runHasLong ? 1 : 0;
          runHasLong = false;
        }
      }
      return counted + (runHasLong ? 1 : 0);
    };
    holds(
      t,
      fc.property(
        courses(1_000, 120_000),
        fc.array(fc.constantFrom(0, 1, 2), { minLength: 40, maxLength: 40 }),
        ([lengths, hidden], inBand) => {
          // It was off for long before the first observation of the true course.
          const course = pieces([minOffMs, ...lengths.slice(1)], (index) => (index % 2 === 1 ? 40 : 0));
          const truth = [minOffMs, ...lengths.slice(1)];
          const end = T0 + total(truth);
          // In between, readings inside the band say nothing.
          const band = visible(course, hidden).flatMap(([at, value], index): Row[] => {
            const row: Row = [at, value];
            return value === null || inBand[index % 40] !== 1 ? [row] : [row, [at + 1, value]];
          });
          const rows = [...new Map(band.map((row) => [row[0], row])).values()]
            .sort((a, b) => a[0] - b[0])
            .filter(([at]) => at <= end);
          const shown = shownAt(def, rows, end);
          inside(trueStarts(truth), shown.starts);
          const onMs = total(truth.filter((_, index) => index % 2 === 1));
          if (hidden.every(({ to }) => to <= end)) inside(onMs / HOUR_MS, shown['on-hours'], 1e-6);
          if (hidden.length === 0) {
            const starts = trueStarts(truth);
            assert.deepEqual(shown.starts, { low: starts, best: starts, high: starts });
          }
        },
      ),
    );
  });

  test('energy from held watts, with stretches longer than a reading may be held', (t) => {
    const def = heldPower(10 * MINUTE_MS, 300);
    holds(
      t,
      fc.property(
        courses(1_000, HOUR_MS),
        fc.array(fc.integer({ min: 0, max: 3_000 }), { minLength: 30, maxLength: 30 }),
        ([lengths, hidden], tenths) => {
          const course = pieces(lengths, (index) => (tenths[index] ?? 0) / 10);
          const end = T0 + total(lengths);
          const kWh = total(lengths.map((length, index) => ((tenths[index] ?? 0) / 10) * length)) / 3.6e9;
          inside(kWh, shownAt(def, visible(course, hidden), end).energy, 1e-12);
        },
      ),
    );
  });

  test('litres from runtime', (t) => {
    const def = counter({ kind: 'runtime-rate', entity: ENTITY, litresPerHour: 12.5 }, 'litres');
    holds(
      t,
      fc.property(courses(1_000, 3 * HOUR_MS), ([lengths, hidden]) => {
        const course = pieces(lengths, (index) => index % 2);
        const litres = (total(lengths.filter((_, index) => index % 2 === 1)) / HOUR_MS) * 12.5;
        inside(litres, shownAt(def, visible(course, hidden), T0 + total(lengths)).litres, 1e-9);
      }),
    );
  });

  test('litres from the pulses of a contact', (t) => {
    const def = counter({ kind: 'pulses', entity: 'binary_sensor.meter', litresPerPulse: 0.25 }, 'litres');
    holds(
      t,
      fc.property(courses(600, 60_000), ([lengths, hidden]) => {
        const course = pieces(lengths, (index) => index % 2);
        const litres = Math.floor(lengths.length / 2) * 0.25;
        inside(litres, shownAt(def, visible(course, hidden), T0 + total(lengths)).litres, 1e-9);
      }),
    );
  });

  test('actuations of a contact, both ways and one way', (t) => {
    const shortestMs = 5_000;
    const source = { kind: 'edges', entity: 'binary_sensor.float', shortestMs } as const;
    const both = counter({ ...source, edges: 'both' }, 'actuations');
    const rising = counter({ ...source, edges: 'rising' }, 'actuations');
    holds(
      t,
      fc.property(courses(shortestMs, 20 * MINUTE_MS), ([lengths, hidden]) => {
        const course = pieces(lengths, (index) => index % 2);
        const end = T0 + total(lengths);
        const seenOf = visible(course, hidden);
        inside(lengths.length - 1, shownAt(both, seenOf, end).actuations);
        inside(Math.floor(lengths.length / 2), shownAt(rising, seenOf, end).actuations);
      }),
    );
  });

  test('litres from a meter that is sometimes taken back to zero', (t) => {
    const perHour = 60;
    const def = meter('confirmed', perHour);
    // Steps of a quarter minute, up to one litre a minute. Where a meter could climb back over its old reading between two
    // readings, nothing tells that it was reset at all: such resets are left out, here and in what the bounds promise.
    const steps = fc.array(
      fc.record({
        litres: fc.integer({ min: 0, max: 25 }),
        reset: fc.integer({ min: 0, max: 40 }).map((n) => n === 0),
      }),
      { minLength: 4, maxLength: 240 },
    );
    holds(
      t,
      fc.property(
        steps.chain((list) => fc.tuple(fc.constant(list), hiddenIn(T0, T0 + list.length * 15_000))),
        ([list, hidden]) => {
          let reading = 5_000;
          let used = 0;
          const course: Piece[] = [{ from: T0, value: reading }];
          for (const [index, { litres, reset }] of list.entries()) {
            if (reset && reading * 0.9 > 0.25 * (list.length - index)) reading = 0;
            reading += litres / 100;
            used += litres / 100;
            course.push({ from: T0 + (index + 1) * 15_000, value: Math.round(reading * 100) / 100 });
          }
          const end = T0 + (list.length + 1) * 15_000;
          inside(used, shownAt(def, visible(course, hidden), end).litres, 1e-9);
        },
      ),
    );
  });

  test('false zeros in a meter change nothing at all', (t) => {
    const def = meter('confirmed', 60);
    const feed = fc.array(fc.record({ litres: fc.nat(25), zero: fc.boolean() }), { minLength: 2, maxLength: 40 });
    holds(
      t,
      fc.property(feed, (list) => {
        let reading = 356;
        const clean: Row[] = [[T0, 356]];
        const dirty: Row[] = [[T0, 356]];
        for (const [index, { litres, zero }] of list.entries()) {
          const at = T0 + (index + 1) * MINUTE_MS;
          reading += litres / 100;
          clean.push([at, reading]);
          if (zero) dirty.push([at - 30_000, 0]);
          dirty.push([at, reading]);
        }
        assert.deepEqual(foldRows(def, dirty).state.amounts, foldRows(def, clean).state.amounts);
      }),
    );
  });
});
