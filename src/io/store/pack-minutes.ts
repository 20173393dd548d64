import type { MinutePower } from '../../observe/index.ts';
import { MINUTE_MS } from '../../units/index.ts';
import { newWriter, putNumber, putSigned, seal, takeNumber, takeSigned, unseal } from './bytes.ts';
import { codeWatts, wattsCode } from './watts.ts';

/** A minute as it is stored: `slot` is its place in the hour or day, powers are codes (watts.ts), `over` and `under` from the mean. */
export type MinuteCodes = {
  readonly slot: number;
  readonly knownMs: number;
  readonly mean: number;
  readonly under: number;
  readonly over: number;
};

export function codesOf(minute: MinutePower, slot: number): MinuteCodes {
  const mean = wattsCode(minute.meanW, 'nearest');
  return {
    slot,
    knownMs: minute.knownMs,
    mean,
    under: mean - wattsCode(minute.minW, 'down'),
    over: wattsCode(minute.maxW, 'up') - mean,
  };
}

export function minuteOf({ slot, knownMs, mean, under, over }: MinuteCodes, start: number): MinutePower {
  return {
    minute: start + slot * MINUTE_MS,
    knownMs,
    minW: codeWatts(mean - under),
    meanW: codeWatts(mean),
    maxW: codeWatts(mean + over),
  };
}

/** Minutes in order of their slots → bytes. Alike things stand together (all means, then all spreads), which compresses best. */
export function packMinutes(minutes: readonly MinuteCodes[]): Uint8Array {
  const out = newWriter();
  putNumber(out, minutes.length);
  let expected = 0;
  for (let index = 0; index < minutes.length; ) {
    // Runs without a hole and of one known time: nearly always all of it, at 60 s.
    const first = minutes[index];
    if (first === undefined) break;
    let run = 1;
    while (minutes[index + run]?.slot === first.slot + run && minutes[index + run]?.knownMs === first.knownMs) run++;
    putNumber(out, first.slot - expected);
    putNumber(out, run);
    putNumber(out, MINUTE_MS - first.knownMs);
    expected = first.slot + run;
    index += run;
  }
  let before = 0;
  for (const { mean } of minutes) {
    putSigned(out, mean - before);
    before = mean;
  }
  for (const { under } of minutes) putNumber(out, under);
  for (const { over } of minutes) putNumber(out, over);
  return seal(out);
}

export function unpackMinutes(packed: Uint8Array): readonly MinuteCodes[] {
  const from = unseal(packed);
  const count = takeNumber(from);
  const slots: number[] = [];
  const known: number[] = [];
  let expected = 0;
  while (slots.length < count) {
    const first = expected + takeNumber(from);
    const run = takeNumber(from);
    const knownMs = MINUTE_MS - takeNumber(from);
    for (let index = 0; index < run; index++) {
      slots.push(first + index);
      known.push(knownMs);
    }
    expected = first + run;
  }
  const means: number[] = [];
  let before = 0;
  for (let index = 0; index < count; index++) {
    before += takeSigned(from);
    means.push(before);
  }
  const unders = slots.map(() => takeNumber(from));
  const overs = slots.map(() => takeNumber(from));
  return slots.map((slot, index) => ({
    slot,
    knownMs: known[index] ?? 0,
    mean: means[index] ?? 0,
    under: unders[index] ?? 0,
    over: overs[index] ?? 0,
  }));
}

/** Newer ones replace what was there of the same minute. */
export function mergeMinutes(old: readonly MinuteCodes[], added: readonly MinuteCodes[]): readonly MinuteCodes[] {
  const last = old.at(-1);
  const first = added[0];
  if (last === undefined) return added;
  if (first === undefined) return old;
  if (first.slot > last.slot) return [...old, ...added];
  const bySlot = new Map(old.map((minute) => [minute.slot, minute]));
  for (const minute of added) bySlot.set(minute.slot, minute);
  return [...bySlot.values()].sort((a, b) => a.slot - b.slot);
}
