// What a campaign is asked for on the command line.
import type { PlannedRun } from './planner.ts';

export type Replay = { readonly seed: number; readonly index: number };

export type Options = {
  readonly runs: number;
  readonly seed: number;
  readonly json: boolean;
  readonly engineOnly: boolean;
  readonly workers: number;
  /** One run's story: its seed and index. */
  readonly replay: Replay | null;
  /** The same, of a run whose plan is at hand. */
  readonly replayPlan: PlannedRun | null;
  readonly procedures: readonly string[] | null;
};

export const USAGE = `campaign: sessions in virtual time with faults, judged by the independent checker

  --runs N            how many sessions (default 2000)
  --seed N            everything follows from it (default 1)
  --json              one object on standard output
  --engine-only       answers straight from a table, no physics: for the engine's own pace
  --workers N         threads (default 2)
  --procedure ID      only this procedure; may be given again
  --replay SEED:INDEX the story of one run; what it aimed at follows from the epochs before it, which are run again first
  --replay-plan JSON  the story of one run by the plan that a finding in the report carries`;

export function readOptions(args: readonly string[]): Options | string {
  const procedures: string[] = [];
  const found = {
    runs: 2000,
    seed: 1,
    json: false,
    engineOnly: false,
    workers: 2,
    replay: null as Options['replay'],
    replayPlan: null as Options['replayPlan'],
  };
  for (let i = 0; i < args.length; i++) {
    const [name = '', inline] = (args[i] ?? '').split(/=(.*)/s, 2);
    const value = (): string => inline ?? args[++i] ?? '';
    const whole = (): number => Number(value());
    if (name === '--runs') found.runs = whole();
    else if (name === '--seed') found.seed = whole();
    else if (name === '--workers') found.workers = whole();
    else if (name === '--json') found.json = true;
    else if (name === '--engine-only') found.engineOnly = true;
    else if (name === '--procedure') procedures.push(value());
    else if (name === '--replay') {
      const match = /^(\d+):(\d+)$/.exec(value());
      if (!match) return '--replay wants SEED:INDEX, e.g. --replay 1:417';
      found.replay = { seed: Number(match[1]), index: Number(match[2]) };
    } else if (name === '--replay-plan') {
      const plan = planFrom(value());
      if (plan === null) return '--replay-plan wants the plan of a finding, as the report gives it';
      found.replayPlan = plan;
    } else return `unknown option ${args[i] ?? ''}\n\n${USAGE}`;
  }
  for (const [name, value] of [
    ['--runs', found.runs],
    ['--seed', found.seed],
    ['--workers', found.workers],
  ] as const)
    if (!Number.isSafeInteger(value) || value < (name === '--seed' ? 0 : 1)) return `${name} wants a whole number`;
  return { ...found, procedures: procedures.length === 0 ? null : procedures };
}

function planFrom(text: string): PlannedRun | null {
  try {
    const plan = JSON.parse(text) as Partial<PlannedRun> | null;
    const isWhole = typeof plan?.seed === 'number' && typeof plan.procedure === 'string' && Array.isArray(plan.faults);
    return isWhole ? (plan as PlannedRun) : null;
  } catch {
    return null;
  }
}
