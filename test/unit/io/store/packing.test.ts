import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  DamagedBytes,
  newWriter,
  putNumber,
  putSigned,
  takeNumber,
  takeSigned,
} from '../../../../src/io/store/bytes.ts';
import { codesOf, mergeMinutes, minuteOf, packMinutes, unpackMinutes } from '../../../../src/io/store/pack-minutes.ts';
import { packSlices, type SliceRow, sumSlices, unpackSlices } from '../../../../src/io/store/pack-slices.ts';
import { codeWatts, wattsCode } from '../../../../src/io/store/watts.ts';
import type { MinutePower } from '../../../../src/observe/index.ts';
import { MINUTE_MS } from '../../../../src/units/index.ts';

const SEED = Number(process.env['PACKING_SEED'] ?? 20_261_125);
const runs = { seed: SEED, numRuns: 1_000 };
const watts = fc.oneof(
  fc.double({ min: 0, max: 4_000, noNaN: true }),
  fc.nat(40_000).map((tenths) => tenths / 10),
);

describe(`the scale of watts (seed ${SEED})`, () => {
  test('rounded down it is never more, rounded up never less, and never further off than one step', () => {
    fc.assert(
      fc.property(watts, (value) => {
        const [down, near, up] = [wattsCode(value, 'down'), wattsCode(value, 'nearest'), wattsCode(value, 'up')];
        const slack = 1e-6 * (1 + value);
        const step = value < 12.8 ? 0.05 : value / 128;
        assert.ok(codeWatts(down) <= value + slack && codeWatts(down) > value - step - slack);
        assert.ok(codeWatts(up) >= value - slack && codeWatts(up) < value + step + slack);
        assert.ok(Math.abs(codeWatts(near) - value) <= step / 2 + slack);
        assert.ok(down <= near && near <= up && up - down <= 1);
      }),
      runs,
    );
  });

  test('a value on the scale is kept as it is, and codes rise with watts', () => {
    let before = -1;
    for (let code = 0; code < 2_000; code++) {
      const value = codeWatts(code);
      assert.ok(value > before);
      before = value;
      for (const rounding of ['down', 'nearest', 'up'] as const) assert.equal(wattsCode(value, rounding), code);
    }
  });

  test('tenths of a watt below 12.8 W come back exactly', () => {
    for (let tenths = 0; tenths < 128; tenths++) {
      assert.equal(codeWatts(wattsCode(tenths / 10, 'down')), tenths / 10);
      assert.equal(codeWatts(wattsCode(tenths / 10, 'up')), tenths / 10);
    }
  });
});

const minutes = fc
  .uniqueArray(
    fc.record({
      slot: fc.nat(1_439),
      knownMs: fc.oneof(fc.constant(MINUTE_MS), fc.integer({ min: 1, max: MINUTE_MS })),
      powers: fc.tuple(watts, watts, watts),
    }),
    { selector: ({ slot }) => slot, maxLength: 300 },
  )
  .map((rows) =>
    rows
      .sort((a, b) => a.slot - b.slot)
      .map(({ slot, knownMs, powers }): MinutePower => {
        const [minW = 0, meanW = 0, maxW = 0] = powers.toSorted((a, b) => a - b);
        return { minute: slot * MINUTE_MS, knownMs, minW, meanW, maxW };
      }),
  );
const toCodes = (rows: readonly MinutePower[]) => rows.map((row) => codesOf(row, row.minute / MINUTE_MS));

describe(`packed minutes (seed ${SEED})`, () => {
  test('come back as they were put in, bounds on the safe side', () => {
    fc.assert(
      fc.property(minutes, (rows) => {
        const codes = toCodes(rows);
        const back = unpackMinutes(packMinutes(codes));
        assert.deepEqual(back, codes);
        for (const [index, row] of rows.entries()) {
          const one = minuteOf(back[index] ?? assert.fail('a minute is missing'), 0);
          assert.equal(one.minute, row.minute);
          assert.equal(one.knownMs, row.knownMs);
          assert.ok(one.minW <= row.minW + 1e-3 && one.maxW >= row.maxW - 1e-3);
          assert.ok(one.minW <= one.meanW && one.meanW <= one.maxW);
        }
      }),
      runs,
    );
  });

  test('put together in two parts they are as put in at once', () => {
    fc.assert(
      fc.property(minutes, fc.array(fc.boolean(), { minLength: 300, maxLength: 300 }), (rows, sides) => {
        const codes = toCodes(rows);
        const [left, right] = [true, false].map((side) => codes.filter((_, index) => sides[index] === side));
        assert.deepEqual(mergeMinutes(left ?? [], right ?? []), codes);
      }),
      runs,
    );
  });
});

const amounts = fc.oneof(
  fc.nat(3_600_000),
  fc.maxSafeNat(),
  fc.nat(1_000).map((halves) => halves / 2),
);
const anyAmount = fc.oneof(
  amounts,
  fc.double({ noNaN: true, noDefaultInfinity: true }).map((value) => value + 0),
);
const rowsOf = (amount: fc.Arbitrary<number>): fc.Arbitrary<SliceRow[]> =>
  fc.array(
    fc.record(
      { hour: fc.nat(600_000), origin: fc.nat(4), low: amount, over_low: amount, over_best: amount },
      { noNullPrototype: true },
    ),
    {
      maxLength: 100,
    },
  );

describe(`packed hours (seed ${SEED})`, () => {
  test('come back exactly as they were put in', () => {
    for (const amount of [amounts, anyAmount])
      fc.assert(
        fc.property(rowsOf(amount), (rows) => {
          const sorted = rows.toSorted((a, b) => a.hour - b.hour || a.origin - b.origin);
          assert.deepEqual(unpackSlices(packSlices(sorted)), sorted);
        }),
        runs,
      );
  });

  test('adding up does not depend on what was packed before', () => {
    fc.assert(
      fc.property(rowsOf(fc.nat(1_000)), fc.nat(100), (rows, cut) => {
        const few = rows.map((row) => ({ ...row, hour: row.hour % 20 }));
        const packed = unpackSlices(packSlices(sumSlices(few.slice(0, cut))));
        assert.deepEqual(sumSlices([...packed, ...few.slice(cut)]), sumSlices(few));
      }),
      runs,
    );
  });
});

describe('bytes', () => {
  test('whole numbers up to 2^53 either way', () => {
    fc.assert(
      fc.property(fc.array(fc.maxSafeNat()), fc.array(fc.integer()), (plain, signed) => {
        const out = newWriter();
        for (const value of plain) putNumber(out, value);
        for (const value of signed) putSigned(out, value);
        const from = { bytes: out.bytes.subarray(0, out.length), at: 0 };
        assert.deepEqual(
          plain.map(() => takeNumber(from)),
          plain,
        );
        assert.deepEqual(
          signed.map(() => takeSigned(from)),
          signed,
        );
        assert.throws(() => takeNumber(from), DamagedBytes);
      }),
      runs,
    );
  });

  test('any changed byte of a packed piece is found', () => {
    const rows = Array.from({ length: 48 }, (_, hour) => ({
      hour,
      origin: 0,
      low: hour * 999,
      over_low: 0,
      over_best: 5,
    }));
    const packed = packSlices(rows);
    for (let index = 0; index < packed.length; index++) {
      const changed = packed.slice();
      changed[index] = (changed[index] ?? 0) ^ 0x10;
      assert.throws(() => unpackSlices(changed), DamagedBytes, `byte ${index}`);
    }
    assert.throws(() => unpackSlices(packed.subarray(0, 3)), DamagedBytes);
  });
});
