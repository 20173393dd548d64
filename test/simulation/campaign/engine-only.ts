// Placeholder until written below.
import type { Field } from './cells.ts';
import type { Tally } from './tally.ts';
export type EngineOnlyRun = { readonly index: number; carryOut(tally: Tally): void };
export function* engineOnlyRuns(_field: Field, _seed: number): Generator<EngineOnlyRun, void> {}
