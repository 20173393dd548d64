import type { Config } from '../config/index.ts';
import { foldObservations } from '../count/index.ts';
import { problem } from '../errors/index.ts';
import type { Actor, CounterDef, CounterId, EntityId } from '../model/index.ts';
import type { Observation } from '../observe/index.ts';
import type { StorePort } from '../ports/index.ts';
import { actorName, applySources, changeSources, countersNamed, fitPart, NO_ENTITY } from '../record/index.ts';
import type { InstantMs } from '../units/index.ts';
import type { SourceView } from './keeper-types.ts';
import { seenBefore } from './seen.ts';
import type { Assembled } from './service.ts';
import { isOver } from './session-runner.ts';

export type SourcedConfig = { readonly config: Config; readonly warnings: readonly string[] };

/**
 * The configuration with the sources that were changed since it was written. Where a counter gets another entity, its old
 * one is let go at the moment of the change first: what it held until then counts, and nothing the new one did before.
 */
export function withSources(config: Config, store: StorePort, now: InstantMs): SourcedConfig {
  const { counters } = config.tank;
  const { defs, warnings, entries } = applySources(counters, (id) => store.sources(id), now);
  for (const entry of entries) store.putSource(entry);
  for (const def of defs) letGo(def, store);
  return { config: { ...config, tank: { ...config.tank, counters: defs } }, warnings };
}

/** Books the old source up to where the new one took over; does nothing where that has been done. */
function letGo(def: CounterDef, store: StorePort): void {
  const list = store.sources(def.id);
  const last = list.at(-1);
  const old = list.at(-2)?.source;
  // An edited file says nothing of when the plug was changed: nobody watched since the last observation.
  if (last === undefined || (last.how !== 'replace' && last.how !== 'move')) return;
  if (old === undefined || old === null || last.source?.entity === old.entity) return;
  const mark = `let go ${def.id}`;
  if (store.setting(mark) === String(last.from)) return;
  const state = store.counterStates().get(def.id);
  // What the old one showed holds no longer than the hub was there to tell otherwise.
  const at = Math.min(last.from, seenBefore(store).watchedUntil ?? 0);
  if (state === undefined || state.lastAt === null) return;
  const gap: Observation = { entity: old.entity, value: null, at, receivedAt: at, origin: 'assumed' };
  const result = foldObservations(
    [{ ...def, source: old }],
    new Map([[def.id, state]]),
    state.lastAt < at ? [gap] : [],
  );
  // One later than the last of the old: what the new one was doing at that moment counts from there on.
  const { entity } = def.source;
  const isNew = entity !== NO_ENTITY && !store.cursors().has(entity);
  const cursors = new Map<EntityId, InstantMs>(isNew ? [[entity, Math.max(at, state.lastAt) + 1]] : []);
  store.commitCounts({ states: [...result.states.values()], slices: result.slices, resets: result.resets, cursors });
  store.putSetting(mark, String(last.from));
}

/** "Replace plug, keep hours" and "move plug, start new". */
export function changeSourceNow(
  app: Assembled,
  name: CounterId,
  by: Actor,
  change: { readonly how: 'replace' | 'move'; readonly entity: EntityId },
): readonly SourceView[] {
  const { how, entity } = change;
  const { tank } = app.config;
  const open = app.runner.state();
  if (open !== null && (!isOver(open) || open.claims.length > 0)) throw problem('SW-REC-019');
  const at = app.system.clock.now();
  const targets = countersNamed(name, tank.counters, tank.equipment, entity);
  const who = actorName(by);
  const entries = changeSources({ how, targets, entity, at, by: who, defs: tank.counters });
  for (const entry of entries) app.store.putSource(entry);
  if (how === 'move') startAnew(app, targets, by, at);
  app.onSourcesChanged?.();
  return entries.map(({ counter, from, source }) => ({ counter, from, entity: source?.entity ?? null, how, by: who }));
}

/** What is counted from here on is of another device: the parts that the counter feeds end their lives. */
function startAnew(app: Assembled, targets: readonly CounterDef[], by: Actor, now: InstantMs): void {
  const ids = new Set(targets.map(({ id }) => id));
  const parts = app.config.tank.parts.filter((part) => Object.values(part.usageFrom).some((id) => ids.has(id)));
  for (const part of parts) {
    const present = app.standings.lives().get(part.id) ?? null;
    if (present !== null && present.fittedAt >= now) continue;
    const note = 'the plug went to other equipment';
    const { life, entry, ended } = fitPart({ part, present, now, by, note, sources: app.sources() });
    app.store.putLife(life, entry, ended);
  }
  app.review.anew();
}
