import { problem } from '../errors/index.ts';
import { type Actor, type Carried, MEASURE_UNITS, type Measure, type Part, type PartId } from '../model/index.ts';
import { hoursAsObservations, mergeByTime, type Observation } from '../observe/index.ts';
import {
  type CounterView,
  fitPart,
  fitPieces,
  fitSpare,
  LIFE_KINDS,
  livesFrom,
  pastOf,
  recountPart,
  seedPart,
  serviceRecord,
  undoLatest,
} from '../record/index.ts';
import type { InstantMs } from '../units/index.ts';
import type { HowFitted, PastOfPart, RecountView } from './keeper-types.ts';
import { partNamed } from './parts.ts';
import type { Assembled } from './service.ts';
import type { PartUsage } from './types.ts';

/** "Done", in all its ways: the whole part, some of its pieces, or a spare that takes its turn. */
export function fitNow(app: Assembled, id: PartId, by: Actor, how: HowFitted): PartUsage {
  const part = partNamed(app, id);
  const now = app.system.clock.now();
  const input = {
    part,
    present: app.standings.lives().get(id) ?? null,
    now,
    by,
    sources: app.sources(),
    ...(how.at === undefined ? {} : { fittedAt: how.at }),
    ...(how.note === undefined ? {} : { note: how.note }),
  };
  const { life, entry, ended } = fittedBy(app, part, input, how);
  if (how.worn === true)
    app.store.putLife(life, { ...entry, worn: true }, ended === null ? null : { ...ended, endedBy: 'worn' });
  else app.store.putLife(life, entry, ended);
  return changed(app, part);
}

function fittedBy(app: Assembled, part: Part, input: Parameters<typeof fitPart>[0], how: HowFitted) {
  const { pieces, places, with: spare, asNew = false } = how;
  if (spare !== undefined) {
    const lives = livesFrom([part], app.store.lives()).get(part.id) ?? [];
    return fitSpare({ ...input, spare, asNew, lives });
  }
  if (places !== undefined) return fitPieces({ ...input, which: { places } });
  // All of them at once are a whole new set.
  if (pieces !== undefined && (pieces !== part.pieces || part.pieces < 2))
    return fitPieces({ ...input, which: { count: pieces } });
  return fitPart(input);
}

function changed(app: Assembled, part: Part): PartUsage {
  app.review.anew();
  return app.standings.usageOf(part, app.system.clock.now(), app.sources());
}

export function undoNow(app: Assembled, id: PartId, by: Actor): { readonly usage: PartUsage; readonly what: string } {
  const part = partNamed(app, id);
  const rows = app.store.journal([...LIFE_KINDS, 'part-undone']);
  const undone = undoLatest({ part, rows, stored: app.store.lives(), now: app.system.clock.now(), by });
  app.store.putLife(undone.life, undone.entry, undone.restored);
  const [line] = serviceRecord([{ seq: 0, entry: undone.what }], () => part.name);
  return { usage: changed(app, part), what: line?.what ?? undone.what.kind };
}

/** What the hub still knows of the time before a counter began is asked first; then the keeper's word stands over it. */
export async function seedNow(app: Assembled, id: PartId, by: Actor, past: PastOfPart): Promise<PartUsage> {
  const part = partNamed(app, id);
  const known = await knownPast(app, part, past);
  return app.loop.run('seed', () => {
    const { life, entry } = seedPart({
      part,
      present: app.standings.lives().get(id) ?? null,
      now: app.system.clock.now(),
      fittedAt: past.fittedAt,
      by,
      sources: app.sources(),
      known,
      ...(past.used === undefined ? {} : { used: past.used }),
      ...(past.note === undefined ? {} : { note: past.note }),
    });
    app.store.putLife(life, entry, null);
    return changed(app, part);
  });
}

async function knownPast(app: Assembled, part: Part, past: PastOfPart): Promise<Partial<Record<Measure, Carried>>> {
  const known: Partial<Record<Measure, Carried>> = {};
  const { counters } = app.sources();
  for (const [measure, counter] of Object.entries(part.usageFrom) as [Measure, string][]) {
    const view = counters.get(counter);
    const since = view?.folded.countingSince ?? null;
    if (view === undefined || since === null || past.used?.[measure] !== undefined || past.fittedAt >= since) continue;
    const rows = await rowsOf(app, view, past.fittedAt, since);
    const found = pastOf({ def: view.def, rows, from: past.fittedAt, to: since });
    const amount = found[measure];
    if (amount !== undefined) known[measure] = amount;
  }
  return known;
}

/** History as far back as it goes, hourly statistics before that. A hub that does not answer knows nothing. */
async function rowsOf(
  app: Assembled,
  view: CounterView,
  from: InstantMs,
  to: InstantMs,
): Promise<readonly Observation[]> {
  const { source } = view.def;
  const request = { entities: [source.entity], from, to };
  const rows: Observation[] = [];
  try {
    for await (const batch of app.hub.history(request)) rows.push(...batch);
    const first = rows.find((row) => row.value !== null)?.at ?? to;
    if (app.hub.statistics === undefined || first <= from) return rows;
    const hours = [];
    for await (const batch of app.hub.statistics({ ...request, to: first })) hours.push(...batch);
    const older = hoursAsObservations(hours, source, to).filter((row) => row.at < first);
    return mergeByTime([older, rows.filter((row) => row.at >= first)]);
  } catch (error) {
    app.system.log.warn(`the hub could not tell what ${source.entity} did before: ${String(error)}`);
    return rows;
  }
}

export function recountNow(app: Assembled, id: PartId, by: Actor, thresholdW: number, take: boolean): RecountView {
  const part = partNamed(app, id);
  const now = app.system.clock.now();
  const present = app.standings.lives().get(id) ?? null;
  const counter = part.usageFrom['on-hours'];
  const source = app.config.tank.counters.find((def) => def.id === counter)?.source;
  if (source?.kind !== 'power-threshold' || present === null) throw problem('SW-REC-013', { part: part.name });
  const minutes = app.store.minutePower(source.entity, present.fittedAt, now);
  const result = recountPart({ part, present, thresholdW, minutes, now, by, sources: app.sources() });
  if (take) {
    app.store.putLife(result.life, result.entry, null);
    app.review.anew();
  }
  const { measure, old, now: fresh, keptMinutes, allMinutes } = result;
  const unit = MEASURE_UNITS[measure];
  return {
    part: id,
    name: part.name,
    measure,
    unit,
    thresholdW,
    old,
    now: fresh,
    keptMinutes,
    allMinutes,
    taken: take,
  };
}
