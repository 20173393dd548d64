// The simulator's own account of what really ran and flowed, apart from anything a plug or meter reported.
import type { DurationMs, InstantMs, VolumeL } from '../../units/index.ts';
import type { PlugKey } from '../tank/index.ts';

export type WaterKind = 'feed' | 'product' | 'top-off';

export type SimTruth = {
  /** Time the device worked in [from, to). */
  onMs(plug: PlugKey, from: InstantMs, to: InstantMs): DurationMs;
  /** Times it began to work in [from, to). */
  starts(plug: PlugKey, from: InstantMs, to: InstantMs): number;
  litres(water: WaterKind, from: InstantMs, to: InstantMs): VolumeL;
};

/** Runs of one device, oldest first; the last may be open. Grown by doubling, so that tens of thousands stay cheap. */
export type Runs = {
  readonly count: number;
  readonly from: (index: number) => InstantMs;
  /** Infinity while it still runs. */
  readonly to: (index: number) => InstantMs;
  begin(at: InstantMs): void;
  end(at: InstantMs): void;
  onMs(from: InstantMs, to: InstantMs): DurationMs;
  starts(from: InstantMs, to: InstantMs): number;
};

export function createRuns(): Runs {
  let begins = new Float64Array(64);
  let ends = new Float64Array(64);
  let count = 0;
  const openNow = (): boolean => count > 0 && ends[count - 1] === Number.POSITIVE_INFINITY;
  return {
    get count() {
      return count;
    },
    from: (index) => begins[index] ?? Number.NaN,
    to: (index) => ends[index] ?? Number.NaN,
    begin(at) {
      if (openNow()) return;
      if (count === begins.length) {
        begins = grown(begins);
        ends = grown(ends);
      }
      begins[count] = at;
      ends[count] = Number.POSITIVE_INFINITY;
      count += 1;
    },
    end(at) {
      if (openNow()) ends[count - 1] = at;
    },
    onMs(from, to) {
      let sum = 0;
      for (let index = 0; index < count; index += 1) {
        const overlap = Math.min(ends[index] ?? 0, to) - Math.max(begins[index] ?? 0, from);
        if (overlap > 0) sum += overlap;
      }
      return sum;
    },
    starts(from, to) {
      let sum = 0;
      for (let index = 0; index < count; index += 1) {
        const at = begins[index] ?? 0;
        if (at >= from && at < to) sum += 1;
      }
      return sum;
    },
  };
}

/** A total that only grows: points joined by straight lines. */
export type Total = {
  readonly count: number;
  at(index: number): InstantMs;
  value(index: number): number;
  add(at: InstantMs, value: number): void;
  valueAt(at: InstantMs): number;
};

export function createTotal(): Total {
  let times = new Float64Array(64);
  let values = new Float64Array(64);
  let count = 0;
  return {
    get count() {
      return count;
    },
    at: (index) => times[index] ?? Number.NaN,
    value: (index) => values[index] ?? Number.NaN,
    add(at, value) {
      if (count === times.length) {
        times = grown(times);
        values = grown(values);
      }
      times[count] = at;
      values[count] = value;
      count += 1;
    },
    valueAt(at) {
      let low = 0;
      let high = count;
      while (low < high) {
        const middle = (low + high) >>> 1;
        if ((times[middle] ?? 0) > at) high = middle;
        else low = middle + 1;
      }
      if (low === 0) return values[0] ?? 0;
      const [t0, v0] = [times[low - 1] ?? 0, values[low - 1] ?? 0];
      if (low === count) return v0;
      const [t1, v1] = [times[low] ?? 0, values[low] ?? 0];
      return v0 + ((v1 - v0) * (at - t0)) / (t1 - t0);
    },
  };
}

function grown(array: Float64Array<ArrayBuffer>): Float64Array<ArrayBuffer> {
  const next = new Float64Array(array.length * 2);
  next.set(array);
  return next;
}
