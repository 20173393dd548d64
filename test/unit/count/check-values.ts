import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';

/** Published or independently computed values; the source of each row stands in the file beside it. */
type Check = {
  readonly id: string;
  readonly source: string;
  readonly tolerance: number;
  // The rows differ in shape; each test names what it reads.
  readonly inputs: Readonly<Record<string, never>>;
  readonly expected: never;
};

const rows = JSON.parse(readFileSync(new URL('check-values-count.json', import.meta.url), 'utf8')) as readonly Check[];

export function check<I, E>(id: string): { inputs: I; expected: E; near: (found: number, wanted: number) => void } {
  const row = rows.find((one) => one.id === id);
  if (row === undefined) throw new Error(`no check row ${id}`);
  const near = (found: number, wanted: number): void => {
    assert.ok(Math.abs(found - wanted) <= row.tolerance, `${id}: ${found} is not ${wanted} (${row.source})`);
  };
  return { inputs: row.inputs as I, expected: row.expected as E, near };
}
