import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';

export const ROOT = resolve(dirname(fileURLToPath(import.meta.url)), '../..');

export type SourceFile = { readonly path: string; readonly text: string; readonly lines: readonly string[] };

const SKIP = new Set(['node_modules', '.git', '.cache', 'data', 'dist']);

/** Every TypeScript file below `folder`, path relative to the repository. */
export function sources(folder: string): SourceFile[] {
  const found: SourceFile[] = [];
  const walk = (dir: string): void => {
    for (const entry of readdirSync(dir, { withFileTypes: true })) {
      if (SKIP.has(entry.name)) continue;
      const full = join(dir, entry.name);
      if (entry.isDirectory()) walk(full);
      else if (/\.(ts|mts|cts)$/.test(entry.name)) {
        const text = readFileSync(full, 'utf8');
        found.push({ path: relative(ROOT, full), text, lines: text.split('\n') });
      }
    }
  };
  walk(join(ROOT, folder));
  return found;
}

/** Code without comments and string contents, so that words in prose do not trip a ban. Line structure is kept. */
export function codeOnly(text: string): string {
  return text.replace(
    /\/\*[\s\S]*?\*\/|\/\/[^\n]*|'(?:\\.|[^'\\\n])*'|"(?:\\.|[^"\\\n])*"|`(?:\\[\s\S]|\$\{[^}]*\}|[^`\\$])*`/g,
    (match) => match.replace(/[^\n]/g, ' '),
  );
}

/** Repository-relative targets of all relative imports (type imports included: direction holds for shapes too). */
export function relativeImports(file: SourceFile): { readonly target: string; readonly line: number }[] {
  const result: { target: string; line: number }[] = [];
  const pattern = /(?:from|import)\s*\(?\s*['"](\.{1,2}\/[^'"]+)['"]/g;
  for (const match of file.text.matchAll(pattern)) {
    const spec = match[1];
    if (spec === undefined) continue;
    const target = relative(ROOT, resolve(ROOT, dirname(file.path), spec));
    const line = file.text.slice(0, match.index).split('\n').length;
    result.push({ target, line });
  }
  return result;
}

/** `src/io/hub/x.ts` → `io`; null outside src. */
export function folderOf(path: string): string | null {
  const match = /^src\/([^/]+)\//.exec(path);
  return match?.[1] ?? null;
}
