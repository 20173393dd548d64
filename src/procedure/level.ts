import type { Reading } from '../observe/index.ts';
import type { DurationMs, InstantMs, LengthCm } from '../units/index.ts';
import { learnedRiseCm, scaled } from './context.ts';
import { freshReading, inSessionTime } from './evidence.ts';
import { type Run, recallNumber, recallText, remember } from './run.ts';

/** Bubbles throw single readings of a level sensor off, so several are looked at together. */
const MOST_SAMPLES = 5;
const FEWEST_SAMPLES = 3;
/** Where no rise has been learned, the alarm comes this far below the rim. */
const BELOW_RIM_CM = 2;

/** Follows the sump level: the median of the last readings, and since when it has kept within the band. */
export function followLevel(run: Run, reading: Reading): void {
  const last = recallNumber(run, 'lv.at');
  if (last !== null && reading.reportedAt <= last) return;
  if (
    reading.value === null ||
    (last !== null && reading.reportedAt - last > scaled(run.ctx.settings.freshMs, run.ctx))
  ) {
    forgetLevel(run);
    if (reading.value === null) return;
  }
  const ring = [...lastLevels(run), reading.value].slice(-MOST_SAMPLES);
  keptText = JSON.stringify(ring);
  kept = ring;
  remember(run, 'lv.ring', keptText);
  remember(run, 'lv.at', reading.reportedAt);
  if (ring.length < FEWEST_SAMPLES) return;
  const now = ring.toSorted((a, b) => a - b)[Math.floor(ring.length / 2)] ?? reading.value;
  remember(run, 'lv.now', now);
  const low = Math.min(recallNumber(run, 'lv.low') ?? now, now);
  const high = Math.max(recallNumber(run, 'lv.high') ?? now, now);
  const moved = high - low > 2 * run.ctx.settings.steadyBandCm;
  remember(run, 'lv.low', moved ? now : low);
  remember(run, 'lv.high', moved ? now : high);
  if (moved || recallNumber(run, 'lv.since') === null) remember(run, 'lv.since', reading.reportedAt);
}

let keptText = '[]';
let kept: readonly LengthCm[] = [];
/** The last text written is kept with what it says: most times it is the one that is read next. */
const lastLevels = (run: Run): readonly LengthCm[] => {
  const text = recallText(run, 'lv.ring') ?? '[]';
  return text === keptText ? kept : (JSON.parse(text) as LengthCm[]);
};

/** A mark that the whole session is measured by rests on readings that agree; two bubbles in a row are no level. */
const AGREE_WITHIN_CM = 1;
export function levelIsSure(run: Run): boolean {
  const now = levelNow(run);
  return (
    now !== null && lastLevels(run).filter((one) => Math.abs(one - now) <= AGREE_WITHIN_CM).length >= FEWEST_SAMPLES
  );
}

/** After a gap nothing is known of where the level went. */
export function forgetLevel(run: Run): void {
  for (const key of ['lv.at', 'lv.ring', 'lv.now', 'lv.low', 'lv.high', 'lv.since']) remember(run, key, null);
}

/** The level now, or null where it is not freshly known. */
export function levelNow(run: Run): LengthCm | null {
  return freshReading(run, run.ctx.sumpLevelEntity) === null ? null : recallNumber(run, 'lv.now');
}

/** Where the level was last seen to stand while hub and service disagree on the time; null where it was not seen lately. */
export function levelSeen(run: Run): LengthCm | null {
  const reading = run.ctx.sumpLevelEntity === undefined ? undefined : run.state.readings[run.ctx.sumpLevelEntity];
  const isLate =
    reading === undefined || run.at - inSessionTime(run, reading) > scaled(run.ctx.settings.freshMs, run.ctx);
  return isLate ? null : recallNumber(run, 'lv.now');
}

/** One fresh reading will do where nothing hangs on a bubble more or less. */
export const anyLevelNow = (run: Run): LengthCm | null =>
  levelNow(run) ?? freshReading(run, run.ctx.sumpLevelEntity)?.value ?? null;

/** At rest for so long, and not counting anything before `from`. */
export function steadyFor(run: Run, forMs: DurationMs, from: InstantMs): boolean {
  const since = recallNumber(run, 'lv.since');
  const last = recallNumber(run, 'lv.at');
  if (levelNow(run) === null || since === null || last === null) return false;
  return last - Math.max(since, from) >= scaled(forMs, run.ctx);
}

export const levelMark = (run: Run): LengthCm | null =>
  run.ctx.sumpLevelEntity === undefined ? null : (run.state.baseline[run.ctx.sumpLevelEntity] ?? null);

/** Over which level the sump must not come while the return is off; null = nobody knows. */
export function highestAllowedCm(run: Run): LengthCm | null {
  const mark = levelMark(run);
  const rise = learnedRiseCm(run.ctx.drainDownL, run.ctx.sumpLitresPerCm);
  if (mark !== null && rise !== null) return mark + rise * (1 + run.ctx.settings.riseShare);
  return run.ctx.sumpRimCm === undefined ? null : run.ctx.sumpRimCm - BELOW_RIM_CM;
}
