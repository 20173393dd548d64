import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { openStore } from '../../src/io/store/index.ts';
import { keptLog, realClock } from '../../src/io/system/index.ts';
import type { StorePort } from '../../src/ports/index.ts';
import { HOUR_MS } from '../../src/units/index.ts';

// Running the store in a process of its own, and finding out afterwards what it still has.

const CHILD = fileURLToPath(new URL('store-child.ts', import.meta.url));

export type Fact = {
  readonly noted?: number;
  readonly counted?: number;
  readonly checkpoint?: string;
  readonly opened?: boolean;
  readonly closed?: boolean;
  readonly code?: string;
  readonly said?: string;
  readonly whatToDo?: string;
  readonly error?: string;
};

export type Child = { readonly process: ChildProcess; readonly facts: Fact[]; readonly ended: Promise<void> };

export type ChildOptions = {
  readonly first?: number;
  readonly most?: number;
  readonly checkpoint?: boolean;
  readonly uid?: number;
  readonly onFact?: (fact: Fact) => void;
};

/** Starts the child; `facts` fills as it speaks, whatever was said before a kill included. */
export function startChild(file: string, options: ChildOptions = {}): Child {
  const { first = 1, most = 0, checkpoint = false, uid, onFact } = options;
  const args = [CHILD, file, String(first), String(most), checkpoint ? 'checkpoint' : ''];
  const child = spawn(process.execPath, args, {
    stdio: ['ignore', 'pipe', 'inherit'],
    ...(uid === undefined ? {} : { uid, gid: uid }),
  });
  const facts: Fact[] = [];
  const lines = createInterface({ input: child.stdout });
  lines.on('line', (line) => {
    // The last line of a killed process may be half a line, which says nothing.
    if (!line.endsWith('}')) return;
    const fact = JSON.parse(line) as Fact;
    facts.push(fact);
    onFact?.(fact);
  });
  const ended = Promise.all([once(child, 'exit'), once(lines, 'close')]).then(() => {});
  return { process: child, facts, ended };
}

export async function runChild(file: string, options: ChildOptions): Promise<readonly Fact[]> {
  const child = startChild(file, options);
  await child.ended;
  return child.facts;
}

export type Confirmed = { readonly noted: ReadonlySet<number>; readonly counted: ReadonlySet<number> };

export const NOTHING_CONFIRMED: Confirmed = { noted: new Set(), counted: new Set() };

/** The numbers the child has confirmed. */
export function confirmedBy(facts: readonly Fact[], before: Confirmed = NOTHING_CONFIRMED): Confirmed {
  const present = (found: number | undefined): found is number => found !== undefined;
  return {
    noted: new Set([...before.noted, ...facts.map(({ noted }) => noted).filter(present)]),
    counted: new Set([...before.counted, ...facts.map(({ counted }) => counted).filter(present)]),
  };
}

/** Above everything a killed child can have written: of its last number it may not have had the time to tell. */
export const nextNumber = ({ noted, counted }: Confirmed): number => Math.max(0, ...noted, ...counted) + 2;

/** Which confirmed numbers a store does not have, and which it has twice. */
export function missingFrom(store: StorePort, { noted, counted }: Confirmed): string[] {
  const notes = store.journal(['note']).flatMap(({ entry }) => (entry.kind === 'note' ? [entry.text] : []));
  const seen = new Map<string, number>();
  for (const text of notes) {
    const name = text.split(' ').slice(0, 2).join(' ');
    seen.set(name, (seen.get(name) ?? 0) + 1);
  }
  const hours = new Map(store.slices('lamp', 'on-hours', 0).map(({ hour, add }) => [hour / HOUR_MS, add.low]));
  const missing: string[] = [];
  for (const number of noted)
    if (seen.get(`number ${number}`) !== 1) missing.push(`entry ${number}: ${seen.get(`number ${number}`) ?? 0} times`);
  for (const number of counted) if (hours.get(number) !== 1) missing.push(`hour ${number}: ${hours.get(number) ?? 0}`);
  return missing;
}

/** The same of a file that can be opened. */
export function missingIn(file: string, confirmed: Confirmed): string[] {
  const store = openStore(file, { clock: realClock, log: keptLog() });
  try {
    return missingFrom(store, confirmed);
  } finally {
    store.close();
  }
}
