import { didYouMean, listWords, problem } from '../errors/index.ts';
import type { Actor, EquipmentId, GuardDef } from '../model/index.ts';
import type { HubPort, StorePort, System } from '../ports/index.ts';
import {
  type GuardContext,
  type GuardEffect,
  type GuardInput,
  type GuardState,
  guardStep,
  judgeReset,
  restoredGuards,
} from '../procedure/guards/index.ts';
import { type InstantMs, MINUTE_MS } from '../units/index.ts';
import type { createAlarms } from './alarms.ts';
import type { Loop } from './loop.ts';
import type { AttentionLine, GuardView } from './protection-types.ts';

/** Setting of the store: what guards have learned and counted. What is latched stands in the journal. */
const MEMORY = 'guards';

export type Guarding = {
  step(input: GuardInput): void;
  /** Why this equipment must not be switched on; null = no guard holds it off. */
  heldOff(equipment: EquipmentId): string | null;
  latchedEquipment(): readonly EquipmentId[];
  reset(guard: string, by: Actor): GuardView;
  views(): readonly GuardView[];
  attention(): readonly AttentionLine[];
  save(): void;
};

type Deps = {
  readonly ctx: GuardContext;
  readonly hub: Pick<HubPort, 'command'>;
  readonly store: StorePort;
  readonly system: System;
  readonly loop: Loop;
  readonly alarms: ReturnType<typeof createAlarms>;
  readonly refresh: (entities: readonly string[]) => void;
  readonly onChange: () => void;
};

export function createGuarding(deps: Deps): Guarding {
  const { ctx, store, system, onChange } = deps;
  const now = (): InstantMs => system.clock.now();
  let state = restored(deps, now());
  let saved = state.memory;
  let savedAt = now();

  const save = (): void => {
    if (state.memory === saved) return;
    saved = state.memory;
    savedAt = now();
    store.putSetting(MEMORY, JSON.stringify(state.memory));
  };
  const step = (input: GuardInput): void => {
    const before = state;
    const [next, effects] = guardStep(state, input, ctx);
    state = next;
    for (const effect of effects) perform(deps, effect, step);
    // Counted amounts must outlive a restart, or each start would grant a new day; a minute of them may be lost.
    if (Math.abs(now() - savedAt) >= MINUTE_MS / ctx.settings.timeFactor) save();
    if (before.latches !== state.latches && Object.keys(before.latches).join() !== Object.keys(state.latches).join()) {
      save();
      onChange();
    }
  };
  const viewOf = (id: string): GuardView => {
    const def = ctx.guards.find((one) => one.id === id);
    return guardView(id, def, state, ctx);
  };
  return {
    step,
    save,
    heldOff: (equipment) => {
      const latch = Object.values(state.latches).find((one) => one.equipment.includes(equipment));
      return latch === undefined
        ? null
        : `the guard ${latch.name} holds it off (${latch.reason}) until a person resets it`;
    },
    latchedEquipment: () => Object.values(state.latches).flatMap(({ equipment }) => equipment),
    views: () => [...new Set([...ctx.guards.map(({ id }) => id), ...Object.keys(state.latches)])].map(viewOf),
    reset: (guard, by) => {
      refuseReset(state, guard, by, ctx);
      step({ kind: 'reset', at: now(), guard, by });
      return viewOf(guard);
    },
    attention: () =>
      Object.values(state.latches).map(({ guard, name, since, reason, equipment }) => ({
        kind: 'guard',
        id: guard,
        since,
        text: `${name}: ${reason}. Off until it is reset: ${namesOf(equipment, ctx)}`,
        toDo: `Put it right, then: slackwater guard reset ${guard}`,
      })),
  };
}

const namesOf = (ids: readonly EquipmentId[], ctx: GuardContext): string =>
  ids.length === 0 ? 'nothing' : ids.map((id) => ctx.equipment[id]?.name ?? id).join(', ');

function guardView(id: string, def: GuardDef | undefined, state: GuardState, ctx: GuardContext): GuardView {
  const latch = state.latches[id];
  const name = (one: EquipmentId): string => ctx.equipment[one]?.name ?? one;
  return {
    id,
    name: def?.name ?? latch?.name ?? id,
    kind: def?.kind ?? null,
    off: (def?.off ?? latch?.equipment ?? []).map(name),
    latched:
      latch === undefined
        ? null
        : {
            since: latch.since,
            reason: latch.reason,
            holdsOff: latch.equipment.map(name),
            provedOff: latch.equipment.every((one) => latch.provedOff.includes(one)),
          },
  };
}

function refuseReset(state: GuardState, guard: string, by: Actor, ctx: GuardContext): void {
  const verdict = judgeReset(state, guard, by, ctx);
  if (verdict.ok) return;
  if (verdict.why === 'no-person') throw problem('SW-GRD-002');
  const name = state.latches[guard]?.name ?? guard;
  if (verdict.why === 'stands') throw problem('SW-GRD-003', { guard: name, cause: verdict.cause });
  const known = Object.keys(state.latches);
  const hint = didYouMean(guard, known, 'See `slackwater guard list`.');
  throw problem('SW-GRD-001', { found: guard, known: known.length === 0 ? 'none' : listWords(known), hint });
}

function restored({ ctx, store }: Deps, at: InstantMs): GuardState {
  const records = store.journal(['guard']).flatMap(({ entry }) => (entry.kind === 'guard' ? [entry] : []));
  return restoredGuards(records, readMemory(store.setting(MEMORY)), ctx, at);
}

/** What was only learned may be lost with a damaged text; what is latched never stands there. */
function readMemory(text: string | null): GuardState['memory'] {
  if (text === null) return {};
  try {
    return JSON.parse(text) as GuardState['memory'];
  } catch {
    return {};
  }
}

function perform(deps: Deps, effect: GuardEffect, step: (input: GuardInput) => void): void {
  const { hub, store, system, loop, alarms } = deps;
  switch (effect.kind) {
    case 'record': {
      const { change, guard, equipment, text, by } = effect;
      store.append({ v: 1, kind: 'guard', at: system.clock.now(), change, guard, equipment, text, by });
      return;
    }
    case 'off': {
      const { guard, equipment, entity } = effect;
      void hub
        .command({ session: `guard:${guard}`, step: 'guard', equipment, entity, turn: 'off', guard })
        .then(({ outcome, detail }) =>
          loop.enqueue('guard command ended', () =>
            step({ kind: 'off-ended', at: system.clock.now(), guard, equipment, outcome, detail }),
          ),
        );
      return;
    }
    case 'refresh':
      deps.refresh(effect.entities);
      return;
    case 'alarm':
      alarms.raise(effect.code, effect.text);
      return;
    case 'alarm-over':
      alarms.over(effect.code);
  }
}

/** The hub's commands, with "on" refused for whatever a guard holds off. */
export function heldHub<H extends Pick<HubPort, 'command' | 'driver' | 'refresh'>>(
  hub: H,
  heldOff: (equipment: EquipmentId) => string | null,
): Pick<HubPort, 'command' | 'driver' | 'refresh'> {
  return {
    command: async (command) => {
      const why = command.turn === 'on' ? heldOff(command.equipment) : null;
      return why === null ? hub.command(command) : { outcome: 'refused', detail: `not sent: ${why}` };
    },
    driver: (entity, turn) => hub.driver(entity, turn),
    refresh: (entities) => hub.refresh(entities),
  };
}
