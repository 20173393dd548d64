import type { EntityId, EquipmentId, Tank } from '../../model/index.ts';
import type { Reading } from '../../observe/index.ts';
import { type ROLES, type RuleOverrides, ruleSetting } from '../../rules/index.ts';
import {
  DAY_MS,
  type DurationMs,
  formatNumber,
  formatSpan,
  HOUR_MS,
  type InstantMs,
  MINUTE_MS,
} from '../../units/index.ts';
import type { SessionState } from '../types.ts';
import { shifted } from './shift.ts';

/** After a session, what came back is held against what was before: watts, level, temperature. Ends with a word on each. */

export type WatchItem = {
  readonly id: string;
  readonly what: 'watts' | 'runs' | 'level' | 'temperature';
  readonly name: string;
  readonly equipment?: EquipmentId;
  readonly entity: EntityId;
  readonly before: number;
  /** The watts of the configuration: as good as the last reading before, which a pulsing pump may have given anywhere. */
  readonly normal?: number;
  readonly tolerance: number;
  /** A schedule rests it: drawing nothing says nothing, the last watts before that count. */
  readonly rests?: true;
  readonly until: InstantMs;
  /** Smoothed over half an hour, and how fresh that is. */
  readonly now: number | null;
  readonly nowAt: InstantMs | null;
  readonly awaySince: InstantMs | null;
  readonly told: boolean;
  readonly verdict: 'open' | 'back' | 'not-back' | 'unknown';
};

export type AfterWatch = {
  readonly session: string;
  readonly title: string;
  readonly from: InstantMs;
  readonly items: readonly WatchItem[];
};

export type AfterWatchState = {
  readonly at: InstantMs;
  /** A session has the tank: what is read meanwhile says nothing. */
  readonly paused: boolean;
  readonly watches: readonly AfterWatch[];
};

export const NOTHING_WATCHED: AfterWatchState = { at: 0, paused: false, watches: [] };

export type AfterWatchInput =
  | { readonly kind: 'readings'; readonly at: InstantMs; readonly readings: readonly Reading[] }
  | { readonly kind: 'tick'; readonly at: InstantMs }
  /** The wall clock was set by so much since the last step. */
  | { readonly kind: 'clock'; readonly at: InstantMs; readonly byMs: DurationMs }
  | { readonly kind: 'session-open'; readonly at: InstantMs }
  | { readonly kind: 'session-over'; readonly at: InstantMs; readonly session: SessionState };

export type AfterWatchEffect =
  | {
      readonly kind: 'record';
      readonly change: 'began' | 'ended';
      readonly session: string;
      readonly text: string;
      readonly watch: AfterWatch;
    }
  | { readonly kind: 'ask'; readonly session: string; readonly text: string }
  | { readonly kind: 'say'; readonly session: string; readonly text: string }
  | { readonly kind: 'alarm'; readonly code: string; readonly text: string }
  | { readonly kind: 'alarm-over'; readonly code: string };

export type AfterWatchContext = {
  readonly tank: Tank;
  readonly wattsTolerance: number; // K19
  readonly levelBandCm: number; // K23
  readonly timeFactor: number;
};

export const afterWatchContext = (tank: Tank, overrides: RuleOverrides = {}, timeFactor = 1): AfterWatchContext => ({
  tank,
  wattsTolerance: ruleSetting(overrides, 'K19', 'tolerance'),
  levelBandCm: ruleSetting(overrides, 'K23', 'markCm'),
  timeFactor,
});

const USUAL_MS = DAY_MS;
/** A cleaned skimmer misbehaves for days and can flood its cup late. */
const SKIMMER_MS = 7 * DAY_MS;
const SMOOTH_MS = 30 * MINUTE_MS;
const AWAY_MS = 30 * MINUTE_MS;
const STALE_MS = HOUR_MS;
const LEAST_WATTS = 2;
const TEMPERATURE_BAND_C = 1;

export function afterWatchStep(
  given: AfterWatchState,
  input: AfterWatchInput,
  ctx: AfterWatchContext,
): readonly [state: AfterWatchState, effects: readonly AfterWatchEffect[]] {
  const before = input.kind === 'clock' ? shifted(given, input.byMs) : given;
  const at = Math.max(before.at, input.at);
  const effects: AfterWatchEffect[] = [];
  if (input.kind === 'session-open') return [{ ...before, at, paused: true }, effects];
  if (input.kind === 'session-over') {
    const made = watchAfter(input.session, at, ctx);
    const taken = new Set(made?.items.map(({ id }) => id));
    // What a later session had in its hands is watched from its end, not from the earlier one's.
    const earlier = before.watches.map((each) => ({ ...each, items: each.items.filter(({ id }) => !taken.has(id)) }));
    const text = 'taken over by a later session';
    for (const watch of earlier.filter(({ items }) => items.length === 0))
      effects.push({ kind: 'record', change: 'ended', session: watch.session, text, watch });
    if (made !== null) effects.push({ kind: 'record', change: 'began', session: made.session, text: '', watch: made });
    const watches = [...earlier.filter(({ items }) => items.length > 0), ...(made === null ? [] : [made])];
    return [{ at, paused: false, watches }, effects];
  }
  if (before.paused || before.watches.length === 0) return [{ ...before, at }, effects];
  const readings = input.kind === 'readings' ? new Map(input.readings.map((one) => [one.entity, one])) : null;
  const watches = before.watches.flatMap((each) => {
    const items = each.items.map((item) => judged(read(item, readings, at, ctx), each, at, ctx, effects));
    const watch = { ...each, items };
    if (items.some(({ verdict }) => verdict === 'open')) return [watch];
    conclude(watch, effects);
    return [];
  });
  return [{ ...before, at, watches }, effects];
}

function watchAfter(session: SessionState, at: InstantMs, ctx: AfterWatchContext): AfterWatch | null {
  const { tank, timeFactor } = ctx;
  const back = session.plan.outOfService.filter((id) => !session.offNow.includes(id));
  const items = back.flatMap((id) => equipmentItem(id, session, at, ctx) ?? []);
  if (items.length === 0) return null;
  const until = at + USUAL_MS / timeFactor;
  const places = tank.sensors.flatMap(({ id, name, kind, entity }): WatchItem[] => {
    const was = session.baseline[entity];
    if (was === undefined || (kind !== 'sump-level' && kind !== 'display-temperature' && kind !== 'sump-temperature'))
      return [];
    const what = kind === 'sump-level' ? 'level' : 'temperature';
    const tolerance = what === 'level' ? ctx.levelBandCm : TEMPERATURE_BAND_C;
    return [{ ...FRESH, id: `${what}:${id}`, what, name, entity, before: was, tolerance, until }];
  });
  return { session: session.id, title: session.plan.title, from: at, items: [...items, ...places] };
}

const FRESH = { now: null, nowAt: null, awaySince: null, told: false, verdict: 'open' } as const;

function equipmentItem(
  id: EquipmentId,
  session: SessionState,
  at: InstantMs,
  { tank, wattsTolerance, timeFactor }: AfterWatchContext,
): WatchItem | null {
  const one = tank.equipment.find((each) => each.id === id);
  if (one?.powerEntity === undefined) return null;
  const { name, powerEntity: entity, normalPowerW: normal } = one;
  const was = session.baseline[entity];
  const planned = session.plan.watch?.find(({ equipment }) => equipment === id)?.ms;
  const ms: DurationMs = (planned ?? watchMsOf(one.role)) / timeFactor;
  // What draws only now and then, or stood idle before, has to be seen at work once.
  const what = one.cycling || was === undefined || was <= LEAST_WATTS ? 'runs' : 'watts';
  const before = what === 'runs' ? (normal ?? 2 * LEAST_WATTS) : (was ?? 0);
  const tolerance = Math.max(LEAST_WATTS, wattsTolerance * before);
  const known = normal === undefined ? {} : { normal };
  return {
    ...FRESH,
    id: `watts:${id}`,
    what,
    name,
    equipment: id,
    entity,
    before,
    ...known,
    ...(one.driver.kind === 'schedule' ? { rests: true } : {}),
    tolerance,
    until: at + ms,
  };
}

export const watchMsOf = (role: keyof typeof ROLES): DurationMs => (role === 'skimmer' ? SKIMMER_MS : USUAL_MS);

function read(
  item: WatchItem,
  readings: ReadonlyMap<EntityId, Reading> | null,
  at: InstantMs,
  { timeFactor }: AfterWatchContext,
): WatchItem {
  const value = readings?.get(item.entity)?.value ?? null;
  if (value === null || item.verdict !== 'open') return item;
  if (item.rests === true && value <= LEAST_WATTS) return item;
  if (item.what === 'runs') return { ...item, now: Math.max(item.now ?? 0, value), nowAt: at };
  const passed = item.nowAt === null ? 0 : at - item.nowAt;
  // The first half hour is a plain beginning: nothing is smoothed over a start.
  const share = item.now === null ? 1 : 1 - Math.exp((-passed * timeFactor) / SMOOTH_MS);
  const now = item.now === null ? value : item.now + (value - item.now) * share;
  return { ...item, now, nowAt: at };
}

function isNear(item: WatchItem): boolean {
  const { now, before, normal, tolerance, what } = item;
  if (now === null) return false;
  if (what === 'runs') return now >= before / 2;
  const nearTo = (wanted: number): boolean => Math.abs(now - wanted) <= tolerance;
  return nearTo(before) || (normal !== undefined && what === 'watts' && nearTo(normal));
}

function judged(
  item: WatchItem,
  watch: AfterWatch,
  at: InstantMs,
  { timeFactor }: AfterWatchContext,
  effects: AfterWatchEffect[],
): WatchItem {
  if (item.verdict !== 'open') return item;
  const code = `after_${watch.session}_${item.id.replaceAll(/[^a-z0-9]+/gi, '_')}`;
  const isStale = item.nowAt === null || at - item.nowAt > STALE_MS / timeFactor;
  const known = item.now !== null && (!isStale || item.rests === true);
  const away = item.what !== 'runs' && known && !isNear(item);
  // Unknown is never back: only a figure that is near again ends being away.
  const awaySince = away ? (item.awaySince ?? at) : known ? null : item.awaySince;
  let next: WatchItem = awaySince === item.awaySince ? item : { ...item, awaySince };
  if (awaySince !== null && at - awaySince >= AWAY_MS / timeFactor && !item.told) {
    next = { ...next, told: true };
    effects.push({ kind: 'alarm', code, text: `After ${watch.title.toLowerCase()}: ${itemText(next)}.` });
  } else if (awaySince === null && item.told && known) {
    next = { ...next, told: false };
    effects.push({ kind: 'alarm-over', code });
  }
  if (item.what === 'runs' && isNear(item)) return { ...next, verdict: 'back' };
  if (at < item.until) return next;
  if (next.told) effects.push({ kind: 'alarm-over', code });
  return { ...next, verdict: item.what === 'runs' || !known ? 'unknown' : isNear(item) ? 'back' : 'not-back' };
}

const listed = (texts: readonly string[]): string => texts.join(', ');

const UNITS: Readonly<Record<WatchItem['what'], string>> = { watts: 'W', runs: 'W', level: 'cm', temperature: '°C' };

/** "Skimmer 14 W (was 26 W)". */
function itemText({ name, what, now, before }: WatchItem): string {
  const figure = (value: number): string => `${formatNumber(value, 1)} ${UNITS[what]}`;
  if (what === 'runs') return `${name} was not seen at work yet`;
  return now === null ? `${name} unknown (was ${figure(before)})` : `${name} ${figure(now)} (was ${figure(before)})`;
}

function conclude(watch: AfterWatch, effects: AfterWatchEffect[]): void {
  const not = watch.items.filter(({ verdict }) => verdict === 'not-back');
  const unknown = watch.items.filter(({ verdict }) => verdict === 'unknown');
  const { session } = watch;
  const back = watch.items.filter(({ verdict }) => verdict === 'back').map(itemOrWorks);
  const told = [
    ...(not.length === 0 ? [] : [`not as before: ${listed(not.map(itemText))}`]),
    ...(unknown.length === 0 ? [] : [`not known: ${listed(unknown.map(itemText))}`]),
    ...(back.length === 0 ? [] : [`as before: ${listed(back)}`]),
  ];
  const isAll = not.length === 0 && unknown.length === 0;
  const text = isAll
    ? `After ${watch.title.toLowerCase()}: all back. ${listed(back)}.`
    : `After ${watch.title.toLowerCase()}, not all is back. ${told.map(sentence).join(' ')}`;
  effects.push({ kind: 'record', change: 'ended', session, text, watch });
  if (isAll) effects.push({ kind: 'say', session, text });
  else
    effects.push({
      kind: 'ask',
      session,
      text: `${text} "yes" says that this is how it is now; "no" keeps it listed.`,
    });
}

const itemOrWorks = (item: WatchItem): string => (item.what === 'runs' ? `${item.name} works` : itemText(item));
const sentence = (text: string): string => `${text[0]?.toUpperCase() ?? ''}${text.slice(1)}.`;

/** How long each is still watched, for whoever asks. */
export const watchLine = (watch: AfterWatch, now: InstantMs, timeFactor = 1): string => {
  const last = Math.max(...watch.items.map(({ until }) => until));
  const away = watch.items.filter(({ told }) => told).map(itemText);
  const so = away.length === 0 ? 'nothing is away so far' : listed(away);
  return `After ${watch.title.toLowerCase()}: watched for ${formatSpan(Math.max(0, last - now) * timeFactor)} more; ${so}`;
};

/** Watches that began and have not ended, with what was gathered before the restart where it was kept. */
export function restoredWatches(
  records: readonly { readonly change: 'began' | 'ended'; readonly session: string; readonly watch: AfterWatch }[],
  kept: readonly AfterWatch[],
): readonly AfterWatch[] {
  const open = new Map<string, AfterWatch>();
  for (const { change, session, watch } of records) {
    if (change === 'began') open.set(session, kept.find((one) => one.session === session) ?? watch);
    else open.delete(session);
  }
  return [...open.values()];
}
