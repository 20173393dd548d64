// What a campaign says of itself, as one object and in words.
import type { Field } from './cells.ts';
import type { Found, Tally } from './tally.ts';

const ENOUGH_HITS = 20;
const LEAST_TOLD = 60;

export type Report = ReturnType<typeof reportOf>;

export function reportOf(tally: Tally, field: Field, seed: number, wallMs: number, mode: 'full' | 'engine-only') {
  const cells = new Set(field.grounds.flatMap((ground) => ground.cells.map((cell) => cell.name)));
  const counts = [...cells].map((name) => [name, tally.hits[name] ?? 0] as const).sort((a, b) => a[1] - b[1]);
  const under = counts.filter(([, hits]) => hits < ENOUGH_HITS);
  const { complete, held, aborted, stopped } = tally.outcomes;
  return {
    mode,
    seed,
    runs: tally.runs,
    perMinute: Math.round((tally.runs * 60_000) / Math.max(1, wallMs)),
    /** On a core of its own; the figure beside it is what this machine made of it with all else it does. */
    cpuMsPerRun: round(tally.cpuMs / Math.max(1, tally.runs), 2),
    events: tally.events,
    virtualHours: Math.round(tally.virtualHours),
    faults: tally.faults,
    byFault: tally.byFault,
    violations: tally.violations,
    armed: tally.armed,
    coverage: {
      reachable: cells.size,
      hitAtLeast20: cells.size - under.length,
      never: counts.filter(([, hits]) => hits === 0).length,
      least: counts[0]?.[1] ?? 0,
      /** Those under enough, or where there are none those hit least all the same. */
      leastHit: (under.length === 0 ? counts : under).slice(0, LEAST_TOLD).map(([cell, hits]) => ({ cell, hits })),
      unreachable: Object.entries(field.unreachable)
        .sort((a, b) => b[1] - a[1])
        .map(([reason, count]) => ({ reason, cells: count })),
      refused: field.refused.map(({ tank, procedure, why }) => `${procedure} on ${tank}: ${why}`),
    },
    completed: complete,
    held,
    aborted,
    stopped,
    faultFree: {
      runs: tally.faultFree.runs,
      completed: tally.faultFree.completed,
      notCompleted: tally.faultFree.notCompleted.slice(0, 20),
    },
    oneFault: {
      runs: tally.oneFault.runs,
      completed: tally.oneFault.completed,
      completedShare: share(tally.oneFault.completed, tally.oneFault.runs),
      extraQuestionsAtMostOneShare: share(tally.oneFault.atMostOne, tally.oneFault.runs),
      otherwise: tally.oneFault.worst,
    },
    found: [...tally.found].sort((a, b) => runOf(a) - runOf(b) || a.at - b.at),
  };
}

const runOf = ({ run }: Found): number => Number(run.split(':')[1]);
const round = (value: number, digits: number): number => Number(value.toFixed(digits));
const share = (part: number, whole: number): number => round(whole === 0 ? 1 : part / whole, 4);

export function inWords(report: Report): string {
  const { coverage, faultFree, oneFault, armed } = report;
  const lines = [
    `seed ${report.seed}: ${report.runs} sessions (${report.mode}), ${report.perMinute} a minute, ${report.cpuMsPerRun} ms of one core each`,
    `${report.faults} faults struck, ${report.events} events, ${report.virtualHours} h of virtual time`,
    `violations: ${report.violations}`,
    `armed: ${Object.entries(armed)
      .map(([invariant, count]) => `${invariant} ${count}`)
      .join(', ')}`,
    `complete ${report.completed}, held ${report.held}, aborted ${report.aborted}, stopped ${report.stopped}`,
    `fault-free: ${faultFree.completed} of ${faultFree.runs} complete without a question too many`,
    `one recoverable fault: ${oneFault.completed} of ${oneFault.runs} complete, ${(100 * oneFault.extraQuestionsAtMostOneShare).toFixed(1)} % with at most one extra question`,
    `coverage: ${coverage.hitAtLeast20} of ${coverage.reachable} cells of procedure × step × fault hit at least ${ENOUGH_HITS} times, ${coverage.never} never, the least ${coverage.least} times`,
    ...faultFree.notCompleted.map((text) => `  not complete: ${text}`),
    ...report.found
      .slice(0, 20)
      .map(
        (each) =>
          `  ${each.run} ${each.tank} ${each.procedure} ${each.invariant}: ${each.text} [${each.faults.join('; ')}]`,
      ),
  ];
  return lines.join('\n');
}
