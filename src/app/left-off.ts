import type { EquipmentId } from '../model/index.ts';
import type { StorePort, System } from '../ports/index.ts';
import {
  darkLine,
  type LeftOffContext,
  type LeftOffEffect,
  type LeftOffInput,
  type LeftOffState,
  leftOffStep,
  leftOffText,
  NOTHING_LEFT_OFF,
} from '../procedure/guards/index.ts';
import { formatSpan } from '../units/index.ts';
import type { createAlarms } from './alarms.ts';
import { answerWith, createAsking } from './asking.ts';
import type { AttentionLine } from './protection-types.ts';

/** Setting of the store: since when what is off, so that its clock runs through a restart. */
const KEPT = 'left off';

export type LeftOffWatch = {
  step(input: LeftOffInput): void;
  attention(): readonly AttentionLine[];
};

const questionId = (equipment: EquipmentId): string => `left-off-${equipment}`;

export function createLeftOff(deps: {
  readonly ctx: LeftOffContext;
  readonly store: StorePort;
  readonly system: System;
  readonly alarms: ReturnType<typeof createAlarms>;
  readonly onChange: () => void;
}): LeftOffWatch {
  const { ctx, store, system, alarms, onChange } = deps;
  const asking = createAsking(deps);
  let state: LeftOffState = { ...NOTHING_LEFT_OFF, ...kept(store.setting(KEPT)) };
  const perform = (effect: LeftOffEffect): void => {
    switch (effect.kind) {
      case 'ask': {
        const { equipment, text } = effect;
        asking.ask({ id: questionId(equipment), kind: 'left-off', equipment, text });
        return;
      }
      case 'answered-itself':
        asking.settled(questionId(effect.equipment), 'it is back');
        return;
      case 'alarm':
        alarms.raise(effect.code, effect.text);
        return;
      case 'alarm-over':
        alarms.over(effect.code);
    }
  };
  return {
    step: (input) => {
      const before = state;
      const [next, effects] = leftOffStep(state, input, ctx);
      state = next;
      if (before.dark.told !== state.dark.told) onChange();
      if (JSON.stringify([before.off, before.still]) !== JSON.stringify([state.off, state.still])) {
        store.putSetting(KEPT, JSON.stringify({ off: state.off, still: state.still }));
        onChange();
      }
      for (const effect of effects) perform(effect);
    },
    attention: () => {
      const now = system.clock.now();
      const off = ctx.equipment.flatMap((one): AttentionLine[] => {
        const known = state.off[one.id];
        // Before it is asked about it may well be a hand that is about to switch it on again.
        if (known === undefined || !known.asked || state.busy.includes(one.id)) return [];
        const text = leftOffText(one.name, known, now, ctx.timeFactor);
        const toDo = known.meant ? 'Said to be meant.' : answerWith('Switch it on, or answer', questionId(one.id));
        return [{ kind: 'left-off', id: one.id, since: known.since, text, toDo }];
      });
      if (state.dark.told.length > 0) {
        const since = Math.min(...state.dark.told.map((id) => state.dark.since[id] ?? now));
        const text = darkLine(state.dark, ctx.equipment, now, ctx.timeFactor);
        const toDo = 'Look whether they have power: the earth-leakage switch of a strip may have dropped out.';
        off.unshift({ kind: 'dark-plugs', id: 'dark-plugs', since, text, toDo });
      }
      if (state.still === null || state.still.told === 0) return off;
      const { since } = state.still;
      const text = `No water mover is known to run for ${formatSpan((now - since) * ctx.timeFactor)}`;
      return [{ kind: 'still-water', id: 'still-water', since, text, toDo: 'Start one by hand now.' }, ...off];
    },
  };
}

function kept(text: string | null): Partial<LeftOffState> {
  if (text === null) return {};
  try {
    const { off, still } = JSON.parse(text) as Partial<LeftOffState>;
    return { off: off ?? {}, still: still ?? null };
  } catch {
    return {};
  }
}
