import type { EntityId } from '../model/index.ts';
import type { Reading } from '../observe/index.ts';
import { keyOf, openStepOf, type Run, recallNumber, remember } from './run.ts';

/** Sensors that say wet or too high. One that a person lifts for a trial does not count, until it has been seen dry again. */
export const wetNow = (run: Run): readonly EntityId[] =>
  run.ctx.wetEntities.filter(
    (entity) => (run.state.readings[entity]?.value ?? 0) > 0 && recallNumber(run, keyOf('trial', entity)) === null,
  );

/** Begins and ends such a trial. */
export function followTrial(run: Run, reading: Reading): void {
  if (!run.ctx.wetEntities.includes(reading.entity)) return;
  const step = openStepOf(run.state);
  const isWatched = step?.action === 'observe' && step.observe?.entity === reading.entity;
  if (isWatched) remember(run, keyOf('trial', reading.entity), run.at);
  else if (reading.value === 0) remember(run, keyOf('trial', reading.entity), null);
}
