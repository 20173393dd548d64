// What a campaign found, added up; the parts that two workers found can be put together.

import { INVARIANTS, type Invariant } from '../checker/index.ts';
import type { PlannedRun } from './planner.ts';

export type Found = {
  readonly run: string;
  readonly tank: string;
  readonly procedure: string;
  readonly faults: readonly string[];
  readonly invariant: Invariant | 'engine';
  readonly at: number;
  readonly text: string;
  /** By which the run can be told again at once. */
  readonly plan?: PlannedRun;
};

export type Outcomes = { complete: number; held: number; aborted: number; stopped: number };

export type Tally = {
  runs: number;
  faults: number;
  byFault: Record<string, number>;
  violations: number;
  found: Found[];
  readonly armed: Record<string, number>;
  readonly hits: Record<string, number>;
  readonly outcomes: Outcomes;
  readonly faultFree: { runs: number; completed: number; notCompleted: string[] };
  readonly oneFault: { runs: number; completed: number; atMostOne: number; worst: Record<string, number> };
  events: number;
  virtualHours: number;
  cpuMs: number;
};

const MOST_FOUND = 200;

export const newTally = (): Tally => ({
  runs: 0,
  faults: 0,
  byFault: {},
  violations: 0,
  found: [],
  armed: Object.fromEntries(INVARIANTS.map((invariant) => [invariant, 0])),
  hits: {},
  outcomes: { complete: 0, held: 0, aborted: 0, stopped: 0 },
  faultFree: { runs: 0, completed: 0, notCompleted: [] },
  oneFault: { runs: 0, completed: 0, atMostOne: 0, worst: {} },
  events: 0,
  virtualHours: 0,
  cpuMs: 0,
});

export const addTo = (into: Record<string, number>, more: Readonly<Record<string, number>>): void => {
  for (const [key, count] of Object.entries(more)) into[key] = (into[key] ?? 0) + count;
};

export function addTally(into: Tally, more: Tally): void {
  into.runs += more.runs;
  into.faults += more.faults;
  into.violations += more.violations;
  into.events += more.events;
  into.virtualHours += more.virtualHours;
  into.cpuMs += more.cpuMs;
  into.found = [...into.found, ...more.found].slice(0, MOST_FOUND);
  addTo(into.byFault, more.byFault);
  addTo(into.armed, more.armed);
  addTo(into.hits, more.hits);
  for (const key of ['complete', 'held', 'aborted', 'stopped'] as const) into.outcomes[key] += more.outcomes[key];
  into.faultFree.runs += more.faultFree.runs;
  into.faultFree.completed += more.faultFree.completed;
  into.faultFree.notCompleted.push(...more.faultFree.notCompleted);
  into.oneFault.runs += more.oneFault.runs;
  into.oneFault.completed += more.oneFault.completed;
  into.oneFault.atMostOne += more.oneFault.atMostOne;
  addTo(into.oneFault.worst, more.oneFault.worst);
}

export function note(tally: Tally, found: Found): void {
  tally.violations += 1;
  if (tally.found.length < MOST_FOUND) tally.found.push(found);
}
