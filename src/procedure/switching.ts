import type { EquipmentId } from '../model/index.ts';
import type { InstantMs, PowerW } from '../units/index.ts';
import { restartProof } from './evidence.ts';
import { patchRecord, type Run, recallNumber, recallText, recordOf, remember } from './run.ts';
import type { EngineContext, Step } from './types.ts';

export type Facts = EngineContext['equipment'][EquipmentId] & { readonly id: EquipmentId };

/** A plan is only ever run against the tank it was built for; anything else is a fault of the program. */
export function factsOf(run: Run, step: Step): Facts {
  const id = step.equipment ?? '';
  const facts = run.ctx.equipment[id];
  if (!facts) throw new Error(`step ${step.id} names an equipment the tank does not have`);
  return { ...facts, id };
}

/** When the present try (or the look after a restart) began. */
export const startedAt = (run: Run): InstantMs | null => recallNumber(run, 's.sentAt');

export function sendCommand(run: Run, step: Step, facts: Facts, turn: 'on' | 'off'): void {
  if (facts.switchEntity === undefined) return;
  restartProof(run);
  remember(run, 's.sentAt', run.at);
  remember(run, 's.look', null);
  remember(run, 's.acknowledged', null);
  remember(run, 's.outcome', null);
  remember(run, 's.left', (recallNumber(run, 's.left') ?? 1) - 1);
  patchRecord(run, step.id, { tries: (recordOf(run, step.id)?.tries ?? 0) + 1 });
  run.effects.push({
    kind: 'command',
    command: { session: run.state.id, step: step.id, equipment: facts.id, entity: facts.switchEntity, turn },
  });
}

/** After a restart or a lost link: the step's plug is read before it is told anything, and told at most once more. */
export function lookBeforeSending(run: Run, mostTries = 1): void {
  if (startedAt(run) === null) return;
  restartProof(run);
  remember(run, 's.sentAt', run.at);
  remember(run, 's.look', 1);
  remember(run, 's.left', mostTries);
}

export const watts = (value: PowerW): string => `${value < 10 ? value.toFixed(1) : Math.round(value)} W`;

/** Before the plug has spoken, what the hub said of the command is all there is; it proves nothing. */
export function unheardText(run: Run): string {
  const outcome = recallText(run, 's.outcome');
  return `no report from the plug since the command${outcome === null ? '' : `: ${outcome}`}`;
}
