import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';

// A copy of the product with something wrong planted in it by replacing a piece of its text.

export const ROOT = resolve(fileURLToPath(import.meta.url), '../../../..');

export type Mutation = {
  readonly id: string;
  /** What a wrong engine or builder of this kind would do. */
  readonly what: string;
  /** Below `src`. */
  readonly file: string;
  /** Stands there exactly once. */
  readonly text: string;
  readonly instead: string;
};

export type Copy = { readonly folder: string; readonly source: string; readonly remove: () => void };

/** Sources, the tests that are asked, and what they need, in a folder of their own. */
export function copyProduct(tests: readonly string[] = []): Copy {
  const folder = mkdtempSync(join(tmpdir(), 'slackwater-mutation-'));
  cpSync(join(ROOT, 'src'), join(folder, 'src'), { recursive: true });
  for (const path of tests) cpSync(join(ROOT, path), join(folder, path), { recursive: true });
  writeFileSync(join(folder, 'package.json'), JSON.stringify({ name: 'copy', type: 'module', private: true }));
  symlinkSync(join(ROOT, 'node_modules'), join(folder, 'node_modules'), 'dir');
  return { folder, source: join(folder, 'src'), remove: () => rmSync(folder, { recursive: true, force: true }) };
}

/** The file with the wrong piece in it; throws where the right one is not found exactly once, so that no mutation is ever idle. */
export function mutated(mutation: Mutation, source: string): string {
  const path = join(source, mutation.file);
  if (!existsSync(path)) throw new Error(`mutation ${mutation.id}: there is no ${mutation.file} any more`);
  const before = readFileSync(path, 'utf8');
  const found = before.split(mutation.text).length - 1;
  if (found !== 1)
    throw new Error(
      `mutation ${mutation.id}: its text stands ${found} times in ${mutation.file}, not once:\n${mutation.text}`,
    );
  return before.replace(mutation.text, () => mutation.instead);
}

/** Plants it, and gives back what takes it out again. */
export function plant(mutation: Mutation, copy: Copy): () => void {
  const path = join(copy.source, mutation.file);
  const before = readFileSync(path, 'utf8');
  writeFileSync(path, mutated(mutation, copy.source));
  return () => writeFileSync(path, before);
}
