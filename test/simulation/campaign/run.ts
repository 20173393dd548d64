// One planned run: carried out, judged, counted.
import { describeFault } from '../../../src/sim/session/index.ts';
import { HOUR_MS } from '../../../src/units/index.ts';
import { checkTrace } from '../checker/index.ts';
import { cellName, stepName } from './cells.ts';
import { type RunResult, runSession } from './drive.ts';
import { type PlannedRun, specOf } from './planner.ts';
import { note, type Tally } from './tally.ts';

export function carryOut(planned: PlannedRun, tally: Tally): RunResult {
  const { procedure } = planned;
  const spec = specOf(planned);
  const result = runSession(spec);
  const verdict = checkTrace(result.trace);
  tally.runs += 1;
  tally.events += result.events;
  tally.virtualHours += result.virtualMs / HOUR_MS;
  const where = {
    run: spec.label,
    tank: planned.tank,
    procedure,
    faults: spec.faults.map(describeFault),
    plan: planned,
  };
  for (const { invariant, at, text } of verdict.violations) note(tally, { ...where, invariant, at, text });
  for (const text of result.faultsOfEngine) note(tally, { ...where, invariant: 'engine', at: 0, text });
  for (const [invariant, count] of Object.entries(verdict.armed)) {
    tally.armed[invariant] = (tally.armed[invariant] ?? 0) + count;
  }
  const outcome = result.outcome;
  tally.outcomes[outcome] += 1;
  for (const hit of result.hits) {
    const { step, kind } = hit;
    const equipment = spec.plan.steps.find((each) => each.id === step)?.equipment;
    const name = cellName(procedure, stepName(step, equipment, spec.home), kind);
    tally.hits[name] = (tally.hits[name] ?? 0) + 1;
  }
  for (const { kind } of result.strikes) {
    tally.faults += 1;
    tally.byFault[kind] = (tally.byFault[kind] ?? 0) + 1;
  }
  countKind(planned, result, tally);
  return result;
}

function countKind({ kind, label, faults, procedure, tank }: PlannedRun, result: RunResult, tally: Tally): void {
  const completed = result.outcome === 'complete';
  if (kind === 'fault-free') {
    tally.faultFree.runs += 1;
    if (completed && result.extraQuestions === 0) tally.faultFree.completed += 1;
    else
      tally.faultFree.notCompleted.push(
        `${label} ${tank} ${procedure}: ${result.outcome}, ${result.extraQuestions} extra, last held by: ${result.lastHold}`,
      );
  }
  // A fault that never struck is no trial of it.
  if (kind !== 'one-fault' || result.strikes.length === 0) return;
  tally.oneFault.runs += 1;
  if (completed) tally.oneFault.completed += 1;
  if (completed && result.extraQuestions <= 1) tally.oneFault.atMostOne += 1;
  else {
    const name = faults[0]?.kind ?? '';
    tally.oneFault.worst[name] = (tally.oneFault.worst[name] ?? 0) + 1;
  }
}
