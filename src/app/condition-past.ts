import type { ConditionBatch } from '../condition/index.ts';
import type { EntityId } from '../model/index.ts';
import { initialMinutes, type MinutePower, type Observation, takeMinutes } from '../observe/index.ts';
import { DAY_MS, type DurationMs, HOUR_MS, type InstantMs, MINUTE_MS } from '../units/index.ts';
import type { Inside, Seen } from './condition.ts';

/** A first start asks the hub so far back: enough to learn what is usual. */
const ASK_BACK_MS: DurationMs = 45 * DAY_MS;
/** What the store keeps by the minute is read from the last service of the part on, so far back at most. */
const LOOK_BACK_MS: DurationMs = 400 * DAY_MS;
/** Read by so much at a time, so that little is held in memory. */
const PIECE_MS: DurationMs = DAY_MS;
/** Judged by so much at a time, so that the loop can breathe. */
const STEP_MS: DurationMs = HOUR_MS;
/** A shorter stretch than this is asked for without asking first how much of it the hub has. */
const SHORT_MS: DurationMs = DAY_MS;

/** From where it was left, or as far back as is needed to learn, up to now; then live readings follow. */
export async function readPast(inside: Inside, signal: AbortSignal, goLive: (to: InstantMs) => void): Promise<void> {
  const { loop, system, monitor, store } = inside;
  const now = system.clock.now();
  const to = now - (now % MINUTE_MS);
  // What the store keeps by the minute need not be asked of the hub again.
  const kept = store.minuteStates();
  const stored = [...inside.powers].filter((entity) => kept.has(entity));
  const asked = inside.entities.filter((entity) => !stored.includes(entity));
  const from = monitor.memory.takenTo ?? beginning(inside, stored, now);
  const first = from - (from % MINUTE_MS);
  const askFrom = await asFarAsKept(inside, asked, Math.max(first, to - ASK_BACK_MS), to);
  if (signal.aborted) return;
  await loop.run('condition', () => {
    inside.news.look(first);
    inside.news.lookAtMeters(first);
  });
  const piece = createPieces(inside, { first, stored, signal });
  await loop.aside('condition', piece.to(askFrom));
  for await (const batch of inside.hub.history({ entities: asked, from: askFrom, to, signal })) {
    if (signal.aborted) return;
    piece.add(batch);
    await loop.aside('condition', piece.to(batch.at(-1)?.at ?? askFrom));
  }
  if (signal.aborted) return;
  await loop.aside('condition', piece.to(to, true));
  await loop.run('condition', () => {
    if (!signal.aborted) goLive(to);
  });
}

/** A hub that keeps ten days is not asked for the days before: each would be a query that finds nothing. */
async function asFarAsKept(
  { hub, system }: Inside,
  asked: readonly EntityId[],
  from: InstantMs,
  to: InstantMs,
): Promise<InstantMs> {
  if (hub.reach === undefined || asked.length === 0 || to - from <= SHORT_MS) return from;
  try {
    const { bridgeableMs } = await hub.reach(asked);
    return Math.max(from, Math.min(to, to - (bridgeableMs ?? 0) - STEP_MS));
  } catch (error) {
    system.log.warn(`the hub did not tell how far the history of conditions goes: ${String(error)}`);
    return from;
  }
}

/** The last service of whatever the store keeps minutes of. */
function beginning({ tank, lives }: Inside, stored: readonly EntityId[], now: InstantMs): InstantMs {
  const kept = tank.equipment.filter(({ powerEntity }) => powerEntity !== undefined && stored.includes(powerEntity));
  const fitted = tank.parts
    .filter(({ equipment }) => kept.some(({ id }) => id === equipment))
    .flatMap(({ id }) => lives().get(id)?.fittedAt ?? []);
  return Math.max(now - LOOK_BACK_MS, Math.min(now - ASK_BACK_MS, ...fitted));
}

/** Takes a past in pieces of a day: rows of the hub's history beside minutes of the store. */
function createPieces(
  inside: Inside,
  { first, stored, signal }: { first: InstantMs; stored: readonly EntityId[]; signal: AbortSignal },
) {
  let rows: Seen[] = [];
  let takenTo: InstantMs | null = null;
  const { monitor, store } = inside;
  const take = function* (until: InstantMs): Iterable<void> {
    const from = Math.max(monitor.memory.takenTo ?? first, first);
    if (until <= from) return;
    const due = rows.filter((row) => row.at < until);
    rows = rows.filter((row) => row.at >= until);
    const minutes: Told[] = [];
    for (const entity of stored) {
      minutes.push({ entity, minutes: store.minutePower(entity, from, until) });
      yield;
    }
    for (const entity of inside.powers)
      if (!stored.includes(entity)) minutes.push({ entity, minutes: minutesOf(inside, entity, due, until) });
    const observations = due.filter((row) => !inside.powers.has(row.entity));
    for (const step of inSteps({ minutes, observations, until }, from)) {
      yield;
      if (signal.aborted) return;
      monitor.take({ ...step, services: inside.news.taken(step.until) });
    }
    takenTo = until;
  };
  return {
    add(batch: readonly Observation[]): void {
      rows.push(...batch);
    },
    /** The whole pieces that lie before `last`, and the rest up to there where nothing follows. */
    *to(last: InstantMs, isAll = false): Iterable<void> {
      const begun = takenTo ?? first;
      for (let end = begun - (begun % PIECE_MS) + PIECE_MS; end <= last && !signal.aborted; end += PIECE_MS)
        yield* take(end);
      if (isAll && !signal.aborted) yield* take(last);
    },
  };
}

type Told = ConditionBatch['minutes'][number];

/** A piece hour by hour; what was known of a plug in none of it is not made known by that. */
function* inSteps(
  piece: Omit<ConditionBatch, 'services'>,
  from: InstantMs,
): Iterable<Omit<ConditionBatch, 'services'>> {
  const minutes = piece.minutes.map((told) => ({ ...told, next: 0 }));
  let next = 0;
  for (let begun = from; begun < piece.until; ) {
    const until = Math.min(begun - (begun % STEP_MS) + STEP_MS, piece.until);
    const own = minutes.map((told) => {
      const start = told.next;
      while ((told.minutes[told.next]?.minute ?? until) < until) told.next += 1;
      return { entity: told.entity, minutes: told.minutes.slice(start, told.next) };
    });
    const start = next;
    while ((piece.observations[next]?.at ?? until) < until) next += 1;
    yield { minutes: own, observations: piece.observations.slice(start, next), until };
    begun = until;
  }
}

/** Held to the end of the last minute, so that it is told although nothing changed. */
export function minutesOf(
  inside: Inside,
  entity: EntityId,
  due: readonly Seen[],
  until: InstantMs,
): readonly MinutePower[] {
  const state = inside.minutes.get(entity) ?? initialMinutes;
  const own = due.filter((one) => one.entity === entity);
  const hold = { at: until, value: own.at(-1)?.value ?? state.watts };
  const taken = takeMinutes(state, state.at === null && own.length === 0 ? [] : [...own, hold]);
  inside.minutes.set(entity, taken.state);
  return taken.minutes;
}
