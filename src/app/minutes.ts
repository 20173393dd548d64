import type { CounterDef, EntityId } from '../model/index.ts';
import { initialMinutes, type MinuteState, type Observation, takeMinutes } from '../observe/index.ts';
import type { MinuteCommit, StorePort } from '../ports/index.ts';
import type { InstantMs } from '../units/index.ts';

export type Minutes = {
  /** What the batch adds to the minutes of power that are kept; `done` once that is on disk. */
  take(batch: readonly Observation[]): { readonly commits: readonly MinuteCommit[]; readonly done: () => void };
  /** The hub's clock was set: the minute it was in is left as it is, and nothing is known until the next reading. */
  clockSet(hubNow: InstantMs): { readonly commits: readonly MinuteCommit[]; readonly done: () => void };
};

/** Least, mean and most of each minute of the power that counters look at, so that a wrong threshold can be counted again. */
export function createMinutes(defs: readonly CounterDef[], store: StorePort): Minutes {
  const watched = new Set(
    defs.flatMap(({ source }) =>
      source.kind === 'power-threshold' || source.kind === 'held-power' ? [source.entity] : [],
    ),
  );
  let states: ReadonlyMap<EntityId, MinuteState> = store.minuteStates();
  return {
    clockSet: (hubNow) => {
      const next = [...states.keys()].map((entity) => ({ entity, state: { ...initialMinutes, at: hubNow } }));
      return {
        commits: next.map(({ entity, state }) => ({ entity, minutes: [], state })),
        done: () => {
          states = new Map(next.map(({ entity, state }) => [entity, state]));
        },
      };
    },
    take: (batch) => {
      const next = new Map<EntityId, MinuteState>();
      const entities = [...new Set(batch.map(({ entity }) => entity))].filter((entity) => watched.has(entity));
      const commits = entities.map((entity): MinuteCommit => {
        const own = batch.filter((one) => one.entity === entity);
        const { state, minutes } = takeMinutes(states.get(entity) ?? initialMinutes, own);
        next.set(entity, state);
        return { entity, minutes, state };
      });
      return {
        commits,
        done: () => {
          states = new Map([...states, ...next]);
        },
      };
    },
  };
}
