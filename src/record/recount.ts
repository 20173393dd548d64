import { problem } from '../errors/index.ts';
import type { Actor, Bounds, Measure, Part, PartLife } from '../model/index.ts';
import type { MinutePower } from '../observe/index.ts';
import { HOUR_MS, type InstantMs, MINUTE_MS, type PowerW } from '../units/index.ts';
import { actorName } from './lives.ts';
import { baselineFor } from './seed.ts';
import type { Recounted } from './types.ts';
import { lifeUsage, ordered, type UsageSources } from './usage.ts';

export type Window = { readonly from: InstantMs; readonly to: InstantMs };

/**
 * On-hours over a threshold from kept minutes. A minute that stayed above is on for all of its known time, one that stayed at
 * or below is not at all. In between, more than nothing and less than all of it was above; best is where the mean stands
 * between the two extremes, as if it had switched between them. Of what is not known: nothing at least, all of it at most,
 * best as in the known time.
 */
export const recountFromMinutes = (
  minutes: readonly MinutePower[],
  thresholdW: PowerW,
  window: Window = spanOf(minutes),
): Bounds => {
  let [low, best, high, knownMs, insideMs] = [0, 0, 0, 0, 0];
  for (const one of new Map(minutes.map((each) => [each.minute, each])).values()) {
    const inside = Math.min(one.minute + MINUTE_MS, window.to) - Math.max(one.minute, window.from);
    if (inside <= 0) continue;
    // Of a minute that the window cuts, the known part may lie on either side.
    const least = Math.max(0, one.knownMs - (MINUTE_MS - inside));
    const most = Math.min(one.knownMs, inside);
    const likely = (one.knownMs * inside) / MINUTE_MS;
    insideMs += inside;
    knownMs += likely;
    if (one.maxW <= thresholdW) {
      high += inside - least;
      continue;
    }
    high += inside;
    if (one.minW > thresholdW) low += least;
    best += one.minW > thresholdW ? Math.min(most, likely) : likely * shareAbove(one);
  }
  const windowMs = Math.max(0, window.to - window.from);
  high += Math.max(0, windowMs - insideMs);
  if (knownMs > 0) best += Math.max(0, windowMs - knownMs) * (best / knownMs);
  return ordered({ low: low / HOUR_MS, best: best / HOUR_MS, high: high / HOUR_MS });
};

const spanOf = (minutes: readonly MinutePower[]): Window => {
  const starts = minutes.map(({ minute }) => minute);
  const [first, last] = starts.reduce(
    ([least, most], at) => [Math.min(least, at), Math.max(most, at)],
    [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY],
  );
  return starts.length === 0 ? { from: 0, to: 0 } : { from: first, to: last + MINUTE_MS };
};

const shareAbove = ({ minW, meanW, maxW }: MinutePower): number =>
  maxW === minW ? 0 : Math.min(1, Math.max(0, (meanW - minW) / (maxW - minW)));

export type RecountInput = {
  readonly part: Part;
  readonly present: PartLife | null;
  readonly thresholdW: PowerW;
  readonly minutes: readonly MinutePower[];
  readonly now: InstantMs;
  readonly by: Actor;
  readonly sources: UsageSources;
};

export type RecountResult = {
  readonly measure: Measure;
  readonly old: Bounds;
  readonly now: Bounds;
  /** Minutes of power that were kept, of all minutes of this life. */
  readonly keptMinutes: number;
  readonly allMinutes: number;
  readonly life: PartLife;
  readonly entry: Recounted;
};

/** The on-hours of a part's present life counted anew with another threshold; `life` and `entry` are what taking it stores. */
export const recountPart = (input: RecountInput): RecountResult => {
  const { part, present, thresholdW, minutes, now, sources } = input;
  const measure: Measure = 'on-hours';
  const counter = part.usageFrom[measure];
  if (counter === undefined || present === null) throw problem('SW-REC-013', { part: part.name });
  const before = lifeUsage(part, present, now, sources).find((usage) => usage.measure === measure);
  const [from, to] = [present.fittedAt, now];
  const kept = minutes.filter(({ minute }) => minute + MINUTE_MS > from && minute < to);
  if (before === undefined || kept.length === 0) throw problem('SW-REC-013', { part: part.name });
  const counted = recountFromMinutes(kept, thresholdW, { from, to });
  const carried = { ...present.carried, [measure]: { ...counted, until: now, origin: 'history' as const } };
  const { low, best, high } = before;
  const old = { low, best, high };
  return {
    measure,
    old,
    now: counted,
    keptMinutes: kept.length,
    allMinutes: Math.round((to - from) / MINUTE_MS),
    life: { ...present, carried, baseline: baselineFor(part, from, carried, now, sources) },
    entry: {
      v: 1,
      kind: 'recounted',
      at: now,
      part: part.id,
      life: present.number,
      by: actorName(input.by),
      measure,
      thresholdW,
      old,
      now: counted,
      before: present,
    },
  };
};
