import assert from 'node:assert/strict';
import { readdirSync, readFileSync } from 'node:fs';
import { describe, test } from 'node:test';
import type { Checked, CheckRow, CheckValue, Solvers } from './types.ts';

const FOLDER = new URL('./', import.meta.url);

/** Names of the files with rows, in the order of the page. */
export function checkFiles(): readonly string[] {
  return readdirSync(FOLDER)
    .filter((name) => name.endsWith('.json'))
    .map((name) => name.slice(0, -'.json'.length))
    .toSorted();
}

export function readRows(name: string): readonly CheckRow[] {
  return JSON.parse(readFileSync(new URL(`${name}.json`, FOLDER), 'utf8')) as CheckRow[];
}

export async function solversOf(name: string): Promise<Solvers> {
  const { solvers } = (await import(new URL(`${name}.ts`, FOLDER).href)) as { solvers: Solvers };
  return solvers;
}

export function holdAgainst(row: CheckRow, solvers: Solvers): Checked {
  const solver = solvers[row.check];
  if (solver === undefined) throw new Error(`${row.id}: no solver named ${row.check}`);
  const ours = solver(row.inputs as never);
  const relative = row.relative === true;
  if (typeof row.tolerance === 'number') {
    const error = largestError(row.expected, ours, relative);
    return { row, ours, error, holds: error <= row.tolerance };
  }
  const mine = ours as Readonly<Record<string, CheckValue>>;
  const theirs = Object.entries(row.expected as Readonly<Record<string, CheckValue>>);
  const errors = theirs.map(([key, value]) => [key, largestError(value, mine[key], relative)] as const);
  const limits = row.tolerance;
  const holds = errors.every(([key, off]) => off <= (limits[key] ?? Number.NaN));
  return { row, ours, error: Object.fromEntries(errors), holds };
}

/** Each row of a file as a test of its own. */
export function runChecks(name: string, solvers: Solvers): void {
  describe(`outside checks: ${name}`, () => {
    for (const row of readRows(name))
      test(row.id, () => {
        const { ours, error, holds } = holdAgainst(row, solvers);
        assert.ok(
          holds,
          `${row.id}: ours ${JSON.stringify(ours)}, ${row.source} says ${JSON.stringify(row.expected)}; off by ${JSON.stringify(error)}`,
        );
      });
  });
}

/** Texts and flags must be equal; a missing or extra value is an infinite error. */
function largestError(expected: CheckValue, ours: CheckValue | undefined, relative: boolean): number {
  if (typeof expected === 'number') {
    if (typeof ours !== 'number' || !Number.isFinite(ours)) return Number.POSITIVE_INFINITY;
    const off = Math.abs(ours - expected);
    return relative && expected !== 0 ? off / Math.abs(expected) : off;
  }
  if (typeof expected !== 'object' || expected === null) return expected === ours ? 0 : Number.POSITIVE_INFINITY;
  if (typeof ours !== 'object' || ours === null) return Number.POSITIVE_INFINITY;
  if (Array.isArray(expected) && (!Array.isArray(ours) || ours.length !== expected.length))
    return Number.POSITIVE_INFINITY;
  const theirs = Object.entries(expected) as [string, CheckValue][];
  const mine = ours as Readonly<Record<string, CheckValue>>;
  return Math.max(0, ...theirs.map(([key, value]) => largestError(value, mine[key], relative)));
}
