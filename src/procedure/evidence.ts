import type { EntityId } from '../model/index.ts';
import { freshness, type Reading } from '../observe/index.ts';
import type { InstantMs, PowerW } from '../units/index.ts';
import { scaled } from './context.ts';
import { type Run, recallNumber, recallText, remember } from './run.ts';

/** Clocks may differ by this much; a report dated further ahead is from a clock gone wrong, and proves nothing. */
export const MAX_SKEW_MS = 5_000;
export const fromTheFuture = (reading: Reading, at: InstantMs): boolean => reading.reportedAt - at > MAX_SKEW_MS;

/** When it was reported, by the session's own clock: how far the hub's is off, and by how much ours was set since, is known. */
export const inSessionTime = (run: Run, reading: Reading): InstantMs =>
  reading.reportedAt - (recallNumber(run, 'skewed') ?? 0) + (recallNumber(run, 'jumped') ?? 0);

/** Reported after that moment of the session. Proves no state while clocks disagree, yet what looks wrong is told at once. */
export const isSince = (run: Run, reading: Reading | undefined, from: InstantMs): reading is Reading =>
  reading !== undefined && inSessionTime(run, reading) > from;

/**
 * What a clock gone wrong dated ahead must not keep out what is reported rightly after it. Until the clocks have been
 * compared again nobody knows whose was set.
 */
export function wasDatedAhead(run: Run, known: Reading, later: Reading): boolean {
  const isCompared = recallNumber(run, 'jumped') === null;
  const aheadMs = (isCompared ? inSessionTime(run, known) : known.reportedAt) - run.at;
  return aheadMs > MAX_SKEW_MS && known.reportedAt - later.reportedAt > MAX_SKEW_MS;
}

const isKnown = (reading: Reading): reading is Reading & { readonly value: number } => reading.value !== null;

/** A reading young enough to be believed (K20), or null. */
export function freshReading(run: Run, entity: EntityId | undefined): (Reading & { readonly value: number }) | null {
  const reading = entity === undefined ? undefined : run.state.readings[entity];
  return reading &&
    !fromTheFuture(reading, run.at) &&
    freshness(reading, run.at, scaled(run.ctx.settings.freshMs, run.ctx)) === 'fresh' &&
    isKnown(reading)
    ? reading
    : null;
}

/** As above, and reported after `from`: a command's own echo from before does not count. */
export function freshAfter(run: Run, entity: EntityId | undefined, from: InstantMs) {
  const reading = freshReading(run, entity);
  return reading && reading.reportedAt > from ? reading : null;
}

/** Evidence starts anew from this moment. */
export function restartProof(run: Run): void {
  remember(run, 's.from', run.at);
  for (const key of ['s.quiet', 's.first', 's.last', 's.hot', 's.watts', 's.window']) remember(run, key, null);
}

export const proofFrom = (run: Run): InstantMs => recallNumber(run, 's.from') ?? run.at;

/** Counts consecutive readings at or below the limit; one above it, or a gap, starts the count again. */
export function countQuiet(run: Run, reading: Reading, limitW: PowerW): void {
  const last = recallNumber(run, 's.last');
  if (reading.reportedAt <= proofFrom(run) || (last !== null && reading.reportedAt <= last)) return;
  remember(run, 's.last', reading.reportedAt);
  remember(run, 's.watts', reading.value);
  if (reading.value === null || reading.value > limitW) {
    remember(run, 's.quiet', null);
    remember(run, 's.first', null);
    remember(run, 's.hot', reading.value);
    return;
  }
  remember(run, 's.hot', null);
  remember(run, 's.quiet', (recallNumber(run, 's.quiet') ?? 0) + 1);
  if (recallNumber(run, 's.first') === null) remember(run, 's.first', reading.reportedAt);
}

/** K18: so many readings in a row, over so long, the last of them still fresh. */
export function isQuiet(run: Run, entity: EntityId | undefined): boolean {
  const { proofReadings, proofSpanMs } = run.ctx.settings;
  const first = recallNumber(run, 's.first');
  const last = recallNumber(run, 's.last');
  if (first === null || last === null || freshAfter(run, entity, proofFrom(run)) === null) return false;
  return (recallNumber(run, 's.quiet') ?? 0) >= proofReadings && last - first >= scaled(proofSpanMs, run.ctx);
}

type Sample = readonly [at: InstantMs, watts: PowerW];
const MOST_SAMPLES = 64;

/** Keeps the readings of K19's window, and the one before it so that the window is covered. */
export function keepSample(run: Run, reading: Reading): void {
  const samples = windowSamples(run);
  const last = samples.at(-1);
  if (reading.reportedAt <= proofFrom(run) || (last && reading.reportedAt <= last[0])) return;
  if (reading.value === null) {
    remember(run, 's.window', null);
    return;
  }
  const kept = [...samples, [reading.reportedAt, reading.value] as const];
  const opens = reading.reportedAt - scaled(run.ctx.settings.wattsOnForMs, run.ctx);
  while (kept.length > 2 && ((kept[1]?.[0] ?? 0) <= opens || kept.length > MOST_SAMPLES)) kept.shift();
  remember(run, 's.window', JSON.stringify(kept));
  remember(run, 's.watts', reading.value);
}

let parsed: { readonly text: string; readonly samples: readonly Sample[] } = { text: '[]', samples: [] };
/** The last text parsed is kept: it is looked at several times before it changes. */
function windowSamples(run: Run): readonly Sample[] {
  const text = recallText(run, 's.window') ?? '[]';
  if (text !== parsed.text) parsed = { text, samples: JSON.parse(text) as Sample[] };
  return parsed.samples;
}

/** Mean watts over K19's window, each value held until the next; null until the window is covered by enough readings. */
export function windowMean(run: Run): { readonly meanW: PowerW; readonly leastW: PowerW } | null {
  const samples = windowSamples(run);
  const first = samples[0];
  const last = samples.at(-1);
  if (!first || !last || samples.length < run.ctx.settings.proofReadings) return null;
  const span = last[0] - first[0];
  if (span < scaled(run.ctx.settings.wattsOnForMs, run.ctx)) return null;
  let area = 0;
  for (let i = 1; i < samples.length; i++) {
    const [from, watts] = samples[i - 1] ?? first;
    area += watts * ((samples[i] ?? last)[0] - from);
  }
  return { meanW: area / span, leastW: Math.min(...samples.map((sample) => sample[1])) };
}

export const near = (value: number, wanted: number, tolerance: number): boolean =>
  Math.abs(value - wanted) <= tolerance * wanted;
