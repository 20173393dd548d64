import { spawn } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import process from 'node:process';
import type { Copy } from './plant.ts';

// Who may catch a planted fault: the small model tried in every way, the unit tests, a short campaign. Each answers with
// what it found and would not find in the product itself.

/** What is copied beside the sources, so that tests and campaign import the copy. */
export const NEEDED = ['test/unit/procedure', 'test/support', 'test/simulation'] as const;

export type Detector = {
  readonly name: 'small model' | 'campaign' | 'unit tests';
  /** Everything it complains of, in short words; empty = nothing. */
  readonly look: (copy: Copy, known: readonly string[]) => Promise<readonly string[]>;
};

/** A planted fault may make a session go round for ever: that, too, is being caught. */
const PATIENCE_MS = 10 * 60_000;

type Ended = { readonly code: number | null; readonly out: string; readonly err: string; readonly late: boolean };

function run(folder: string, args: readonly string[]): Promise<Ended> {
  return new Promise((resolve, reject) => {
    // A run inside a test runner must not take its children for its own.
    const { NODE_TEST_CONTEXT: _, ...env } = process.env;
    const child = spawn(process.execPath, args, {
      cwd: folder,
      env,
      stdio: ['ignore', 'pipe', 'pipe'],
      timeout: PATIENCE_MS,
    });
    let out = '';
    let err = '';
    child.stdout.on('data', (chunk: Buffer) => {
      out += chunk.toString();
    });
    child.stderr.on('data', (chunk: Buffer) => {
      err += chunk.toString();
    });
    child.on('error', reject);
    child.on('close', (code, signal) => resolve({ code, out, err, late: signal === 'SIGTERM' }));
  });
}

/** Nothing came back that could be read: it broke down or never ended. */
function broken({ late, code, err }: Ended): readonly string[] {
  if (late) return ['it never ends'];
  const line = err.split('\n').find((each) => /\bError\b/.test(each)) ?? err.trim().split('\n')[0] ?? '';
  return [`it breaks down (${code ?? 'killed'}): ${line.trim()}`];
}

const lastLine = (text: string): string => text.trim().split('\n').at(-1) ?? '';

const smallModel: Detector = {
  name: 'small model',
  look: async (copy, known) => {
    const list = join(copy.folder, 'known.json');
    writeFileSync(list, JSON.stringify(known));
    const all = known.length === 0 ? [] : ['--known', list];
    const ended = await run(copy.folder, ['test/simulation/mutations/small-model.ts', '--source', copy.source, ...all]);
    if (ended.code !== 0) return broken(ended);
    return (JSON.parse(lastLine(ended.out)) as { readonly found: string[] }).found;
  },
};

type Found = { readonly invariant: string; readonly procedure: string };

const campaign: Detector = {
  name: 'campaign',
  look: async (copy) => {
    const procedures = ['pump-pause', 'skimmer-service', 'return-pump-service'].flatMap((id) => ['--procedure', id]);
    const args = ['test/simulation/campaign/main.ts', '--runs', '80', '--seed', '1', '--json', ...procedures];
    const ended = await run(copy.folder, args);
    if (!ended.out.trimStart().startsWith('{')) return broken(ended);
    const report = JSON.parse(lastLine(ended.out)) as {
      readonly found: readonly Found[];
      readonly faultFree: { readonly runs: number; readonly completed: number };
    };
    const kinds = new Set(report.found.map(({ procedure, invariant }) => `${invariant} in ${procedure}`));
    const { runs, completed } = report.faultFree;
    return [...kinds, ...(completed < runs ? ['not every session without a fault completes'] : [])];
  },
};

const unitTests: Detector = {
  name: 'unit tests',
  look: async (copy) => {
    const args = ['--test', '--test-reporter=tap', '--test-concurrency=2', 'test/unit/procedure/*.test.ts'];
    const ended = await run(copy.folder, args);
    if (!ended.out.startsWith('TAP')) return broken(ended);
    const failed = ended.out.split('\n').flatMap((line) => /^\s*not ok \d+ - (.*?)(?: # .*)?$/.exec(line)?.[1] ?? []);
    return failed.filter((name) => !name.endsWith('.test.ts'));
  },
};

export const DETECTORS: readonly Detector[] = [smallModel, unitTests, campaign];
