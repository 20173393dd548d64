import type { ServiceMark } from '../condition/index.ts';
import type { EntityId, EquipmentId, PartId, PartLife, Tank } from '../model/index.ts';
import type { StorePort } from '../ports/index.ts';
import type { InstantMs } from '../units/index.ts';

/** What was known of lives and meters when it was last looked, and what of it has still to be judged by. */
export type Known = {
  readonly lives: Readonly<Record<PartId, number>>;
  readonly meters?: Readonly<Record<EquipmentId, EntityId>>;
  /** Of the newest change of a counter's source that was looked at. */
  readonly sourcesAt?: InstantMs;
  readonly marks?: readonly ServiceMark[];
};

/** What makes that which was learned out of date: a part has a new life, or its watts come from another meter. */
export type News = {
  /** Lives: what began before `from` is no news at the very first look. */
  look(from: InstantMs): void;
  /** Meters: what the keeper recorded, and what the configuration says since it was edited. */
  lookAtMeters(from: InstantMs): void;
  /** Those before `until`, each once; later ones wait until the tank is judged as far as that. */
  taken(until: InstantMs): readonly ServiceMark[];
  known(): Known;
};

type Deps = {
  readonly tank: Tank;
  readonly store: Pick<StorePort, 'sources'>;
  readonly lives: () => ReadonlyMap<PartId, PartLife>;
};

export function createNews({ tank, store, lives }: Deps, known: Known): News {
  const knownLives: Record<PartId, number> = { ...known.lives };
  let { meters, sourcesAt, marks = [] } = known;
  const add = (mark: ServiceMark): void => {
    marks = [...marks, mark];
  };
  return {
    look(from) {
      for (const [id, life] of lives()) {
        const before = knownLives[id];
        knownLives[id] = life.number;
        const part = tank.parts.find((one) => one.id === id);
        if (part === undefined || before === life.number) continue;
        // At the very first look only what was fitted since the record begins is news.
        if (before === undefined && life.fittedAt < from) continue;
        const about = part.equipment === undefined ? {} : { equipment: part.equipment };
        add({ at: life.fittedAt, what: 'serviced', part: part.kind, ...about });
      }
    },
    lookAtMeters(from) {
      const changed = changedMeters(tank, store, sourcesAt ?? from);
      for (const { equipment, at } of changed) add({ at, what: 'new-meter', equipment });
      sourcesAt = changed.reduce((newest, { at }) => Math.max(newest, at), sourcesAt ?? from);
      const present = presentMeters(tank);
      for (const [equipment, entity] of Object.entries(present)) {
        const before = meters?.[equipment];
        const isTold = before === undefined || before === entity || changed.some((one) => one.equipment === equipment);
        // When the file was edited nobody watched: it was after the last that was judged.
        if (!isTold) add({ at: from, what: 'new-meter', equipment });
      }
      meters = present;
    },
    taken(until) {
      const due = marks.filter(({ at }) => at < until);
      if (due.length > 0) marks = marks.filter(({ at }) => at >= until);
      return due;
    },
    known: () => ({
      lives: knownLives,
      marks,
      ...(meters === undefined ? {} : { meters }),
      ...(sourcesAt === undefined ? {} : { sourcesAt }),
    }),
  };
}

const presentMeters = ({ equipment }: Tank): Record<EquipmentId, EntityId> =>
  Object.fromEntries(
    equipment.flatMap(({ id, powerEntity }) => (powerEntity === undefined ? [] : [[id, powerEntity]])),
  );

/** Equipment whose watts a counter used to read, or reads now, where the keeper gave that counter another plug. */
function changedMeters(tank: Tank, store: Deps['store'], after: InstantMs) {
  const changed = new Map<EquipmentId, InstantMs>();
  for (const { id } of tank.counters) {
    const entries = store.sources(id);
    for (const [index, { from, how, source }] of entries.entries()) {
      const before = entries[index - 1]?.source?.entity;
      if (from <= after || index === 0 || how === 'rename' || before === source?.entity) continue;
      for (const { id: equipment, powerEntity } of tank.equipment)
        if (powerEntity !== undefined && (powerEntity === before || powerEntity === source?.entity))
          changed.set(equipment, Math.max(from, changed.get(equipment) ?? from));
    }
  }
  return [...changed].map(([equipment, at]) => ({ equipment, at }));
}
