import { didYouMean, listWords, problem } from '../errors/index.ts';
import type { CounterDef, CounterId, CounterSource, EntityId, Equipment, EquipmentId } from '../model/index.ts';
import type { InstantMs } from '../units/index.ts';
import { dateOf, FROM_CONFIGURATION } from './lives.ts';

/** Stands for "no entity": the counter is fed by nothing until it is given a source. */
export const NO_ENTITY: EntityId = '';

/**
 * What fed a counter from a moment on. `replace`: the same device on another plug, its hours stay. `move`: another device,
 * its parts begin anew. `rename`: the same entity under another name. `first` and `edit`: as the configuration says.
 */
export type SourceEntry = {
  readonly counter: CounterId;
  readonly from: InstantMs;
  /** Null: nothing from here on. */
  readonly source: CounterSource | null;
  readonly how: 'first' | 'replace' | 'move' | 'rename' | 'edit';
  readonly by: string;
};

export type AppliedSources = {
  /** The counters as they are to be read. */
  readonly defs: readonly CounterDef[];
  /** What was changed since the configuration was written, in the words of a warning, until it says the same. */
  readonly warnings: readonly string[];
  /** What has to be written down: a counter seen first, or a configuration that says something new. */
  readonly entries: readonly SourceEntry[];
};

/**
 * The counters with what was changed since the configuration was written. A change holds as long as the configuration still
 * says what it said then: whoever edits that line later knows better.
 */
export const applySources = (
  configured: readonly CounterDef[],
  known: (counter: CounterId) => readonly SourceEntry[],
  now: InstantMs,
): AppliedSources => {
  const warnings: string[] = [];
  const entries: SourceEntry[] = [];
  const defs = configured.map((def): CounterDef => {
    const { entity } = def.source;
    const list = known(def.id);
    const last = list.at(-1);
    const written = list.findLast(({ how }) => how === 'first' || how === 'edit');
    const told = (how: 'first' | 'edit'): void => {
      entries.push({ counter: def.id, from: now, source: def.source, how, by: FROM_CONFIGURATION });
    };
    if (last === undefined || written === undefined) {
      told('first');
      return def;
    }
    if (last.source?.entity === entity) return def;
    if (written.source?.entity !== entity) {
      told('edit');
      return def;
    }
    if (last === written) return def;
    warnings.push(warningOf(def, last));
    return { ...def, source: { ...def.source, entity: last.source?.entity ?? NO_ENTITY } };
  });
  return { defs, warnings, entries };
};

const warningOf = ({ id, source }: CounterDef, { source: next, from, by }: SourceEntry): string => {
  const day = dateOf(from).slice(0, 10);
  return next === null
    ? `The counter ${id} has no source since ${day} (${by}): ${source.entity} was moved to other equipment. Give it one with \`source replace\`, or remove it from the configuration.`
    : `The counter ${id} reads ${next.entity} since ${day} (${by}), the configuration still says ${source.entity}: change it there.`;
};

const domainOf = (entity: EntityId): string => entity.split('.')[0] ?? '';

/** Counters meant by a name: one of them, or all that read this kind of entity of an equipment's plug. */
export const countersNamed = (
  name: CounterId | EquipmentId,
  defs: readonly CounterDef[],
  equipment: readonly Equipment[],
  entity: EntityId,
): readonly CounterDef[] => {
  const counter = defs.filter((def) => def.id === name);
  if (counter.length > 0) return counter;
  const device = equipment.find((one) => one.id === name);
  if (device === undefined) {
    const known = [...defs.map((def) => def.id), ...equipment.map((one) => one.id)];
    const hint = didYouMean(name, known, 'Name one of these.');
    throw problem('SW-REC-015', { found: name, known: listWords(known, 40), hint });
  }
  const own = [device.switchEntity, device.powerEntity];
  const near = defs.filter((def) => own.includes(def.source.entity));
  // A plug has several entities; the new one takes the place of its own kind only.
  const kind = domainOf(entity);
  const alike = near.filter((def) => domainOf(def.source.entity) === kind);
  if (alike.length > 0) return alike;
  const known = near.map((def) => `${def.id} (${def.source.entity})`).join(', ');
  throw problem('SW-REC-014', { found: name, kind, known: known === '' ? 'none' : known });
};

export type SourceOrder = {
  readonly how: 'replace' | 'move';
  readonly targets: readonly CounterDef[];
  readonly entity: EntityId;
  readonly at: InstantMs;
  readonly by: string;
  /** All counters as they are read now. */
  readonly defs: readonly CounterDef[];
};

/**
 * What to write down for "replace plug, keep hours" and "move plug, start new". Where a plug was moved, whatever it fed
 * before has no source from then on: its readings now tell of something else.
 */
export const changeSources = ({ how, targets, entity, at, by, defs }: SourceOrder): readonly SourceEntry[] => {
  for (const target of targets)
    if (target.source.entity === entity && how === 'replace')
      throw problem('SW-REC-016', { counter: target.id, entity });
  const others = defs.filter((def) => def.source.entity === entity && !targets.some(({ id }) => id === def.id));
  const entry = ({ id }: CounterDef, source: CounterSource | null): SourceEntry => ({
    counter: id,
    from: at,
    source,
    how,
    by,
  });
  return [
    ...targets.map((def) => entry(def, { ...def.source, entity })),
    ...(how === 'move' ? others.map((def) => entry(def, null)) : []),
  ];
};
