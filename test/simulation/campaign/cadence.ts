// How soon the service looks again: every second or few while something is being proved, slower where only time has to pass.
// Whatever shows something new brings the next look forward to the next second.
import { type DurationMs, SECOND_MS } from '../../../src/units/index.ts';
import type { Drive } from './drive.ts';
import { isEnded } from './engine.ts';

const QUIET_MS: DurationMs = 30 * SECOND_MS;
const MOVING_MS: DurationMs = 8 * SECOND_MS;
const SETTLING_MS: DurationMs = 12 * SECOND_MS;

export function cadence(drive: Drive): DurationMs {
  const { state, world } = drive;
  if (isEnded(state)) return 5 * SECOND_MS;
  const step = state.plan.steps[state.stepIndex];
  if (state.status === 'idle' || step === undefined) return 5 * SECOND_MS;
  const levelMoves = Math.abs(world.water.levelCm - drive.levelSeenCm) > 0.1;
  drive.levelSeenCm = world.water.levelCm;
  if (state.status === 'held') return levelMoves ? MOVING_MS : QUIET_MS;
  if (state.status === 'restarting') return SECOND_MS;
  switch (step.action) {
    case 'wait':
      return Math.max(SECOND_MS, Math.min(levelMoves ? MOVING_MS : QUIET_MS, leftToWait(drive)));
    case 'settle':
      return SETTLING_MS;
    case 'switch-off':
      return 2 * SECOND_MS;
    case 'switch-on':
      // The first seconds tell whether it obeyed; after that its watts are followed over a minute.
      return world.at - drive.movedAt < 5 * SECOND_MS ? 2 * SECOND_MS : 9 * SECOND_MS;
    default:
      return SECOND_MS;
  }
}

function leftToWait({ state, world, skewMs, ctx }: Drive): DurationMs {
  const step = state.plan.steps[state.stepIndex];
  if (step === undefined) return QUIET_MS;
  const from = state.records.find((record) => record.id === (step.waitFrom ?? step.id));
  const since = from?.closedAt ?? from?.openedAt ?? world.at;
  return Math.ceil(since + (step.waitMs ?? 0) / ctx.settings.timeFactor - world.at - skewMs);
}
