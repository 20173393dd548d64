import { sourceEntities } from '../count/index.ts';
import type { CounterDef, EntityId, Question } from '../model/index.ts';
import { type Observation, sameUnit } from '../observe/index.ts';
import type { Log, StorePort } from '../ports/index.ts';

/** Setting of the store: the unit each source was first seen in, and how it was read then. */
const UNITS = 'units';

type Known = { readonly unit: string; readonly readAs: string };

export type UnitWatch = {
  /** The batch, with figures in a unit that nobody has vouched for turned into gaps. */
  screen(batch: readonly Observation[]): readonly Observation[];
};

/**
 * A source that suddenly tells in another unit would be counted wrong by the factor between the two. Its count stands
 * still, with a question, until a person says that only the label changed, or the configuration is read anew.
 */
export function createUnitWatch(defs: readonly CounterDef[], store: StorePort, log: Log): UnitWatch {
  const readAs = new Map<EntityId, string>();
  for (const def of defs) {
    for (const entity of sourceEntities(def))
      readAs.set(entity, `${readAs.get(entity) ?? ''}${JSON.stringify([def.id, def.source])}`);
  }
  const known = new Map(
    Object.entries(read(store.setting(UNITS))).filter(([entity, { readAs: before }]) => before === readAs.get(entity)),
  );
  const save = (entity: EntityId, unit: string): void => {
    known.set(entity, { unit, readAs: readAs.get(entity) ?? '' });
    store.putSetting(UNITS, JSON.stringify(Object.fromEntries(known)));
  };
  const isTrusted = ({ entity, unit, at }: Observation): boolean => {
    if (unit === undefined || !readAs.has(entity)) return true;
    const before = known.get(entity)?.unit;
    if (before === unit) return true;
    if (before === undefined || sameUnit(before, unit)) {
      save(entity, unit);
      return true;
    }
    const question = unitQuestion(entity, before, unit, at);
    const answer = store.questions('all').find(({ id }) => id === question.id)?.answer ?? null;
    if (answer?.choice === 'yes') {
      log.info(`${entity} is counted on in ${unit}: ${answer.by} said that only the label changed`);
      save(entity, unit);
      return true;
    }
    if (answer === null && store.putQuestion(question)) log.warn(question.text);
    return false;
  };
  return {
    screen: (batch) => {
      if (batch.every(isTrusted)) return batch;
      return batch.map((one) => (isTrusted(one) ? one : { ...one, value: null, origin: 'assumed' }));
    },
  };
}

function unitQuestion(entity: EntityId, before: string, now: string, at: number): Question {
  return {
    id: `unit ${entity} ${before} ${now}`.replaceAll(/[^\w.]+/g, '-').toLowerCase(),
    kind: 'unit-changed',
    askedAt: at,
    entity,
    facts: { before, now },
    text:
      `${entity} was counted in ${before} and now tells ${now}. Its count stands still. Are the figures the same as ` +
      `before and only labelled otherwise? "yes" counts on; "no" waits until the configuration is corrected.`,
  };
}

function read(text: string | null): Readonly<Record<EntityId, Known>> {
  return text === null ? {} : (JSON.parse(text) as Record<EntityId, Known>);
}
