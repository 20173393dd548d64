// Runs the command in this process with streams of its own, or as a keeper does, in one of its own.
import { spawn } from 'node:child_process';
import { PassThrough } from 'node:stream';
import { text } from 'node:stream/consumers';
import { fileURLToPath } from 'node:url';
import { main } from '../../../src/cli/index.ts';

export type Ran = { readonly code: number; readonly out: string; readonly err: string };

/** A terminal of so many columns; without, a pipe. */
export async function runMain(argv: readonly string[], columns?: number): Promise<Ran> {
  const [out, err] = [stream(columns), stream(columns)];
  const [outText, errText] = [text(out), text(err)];
  const code = await main(argv, { out, err });
  out.end();
  err.end();
  return { code, out: await outText, err: await errText };
}

function stream(columns: number | undefined): PassThrough {
  const made = new PassThrough();
  return columns === undefined ? made : Object.assign(made, { isTTY: true, columns });
}

const MAIN = fileURLToPath(new URL('../../../src/cli/main.ts', import.meta.url));

export function runProcess(
  argv: readonly string[],
  options: { readonly cwd?: string; readonly env?: Readonly<Record<string, string | undefined>> } = {},
): Promise<Ran> {
  return ended(
    spawn(process.execPath, [MAIN, ...argv], {
      cwd: options.cwd,
      env: { ...process.env, ...options.env },
      stdio: ['ignore', 'pipe', 'pipe'],
    }),
  );
}

/** What a process printed and how it ended; by a signal counts as 128 and more, as in a shell. */
export async function ended(child: ReturnType<typeof spawn>): Promise<Ran> {
  if (child.stdout === null || child.stderr === null) throw new Error('the process has no pipes');
  const [outText, errText] = [text(child.stdout), text(child.stderr)];
  const code = await new Promise<number>((resolve, reject) => {
    child.on('error', reject);
    child.on('close', (exit, signal) => resolve(exit ?? (signal === null ? 255 : 128)));
  });
  return { code, out: await outText, err: await errText };
}

const ESCAPE = String.fromCharCode(27);

/** Codes that move a cursor or colour text. */
export const hasEscapes = (printed: string): boolean => printed.includes(ESCAPE);

/** The longest line in characters. */
export const widest = (printed: string): number => Math.max(...printed.split('\n').map((line) => line.length));
