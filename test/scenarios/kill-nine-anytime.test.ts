import assert from 'node:assert/strict';
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { after, test } from 'node:test';
import { setTimeout as delay } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { foldObservations, initialStates, type Slice } from '../../src/count/index.ts';
import { openStore } from '../../src/io/store/index.ts';
import { keptLog, realClock } from '../../src/io/system/index.ts';
import type { StorePort } from '../../src/ports/index.ts';
import { reminderKey } from '../../src/remind/index.ts';
import { dice, KILL_DEFS, KILL_LIMITS, killFeed, partAt } from './kill-feed.ts';

const KILLS = 200;
const ROWS = 12_000;
const SEED = Number(process.env['KILL_SEED'] ?? 20_260_301);
const CHILD = fileURLToPath(new URL('kill-feed-child.ts', import.meta.url));

const folder = mkdtempSync(join(tmpdir(), 'slackwater-kill-'));
const storeFile = join(folder, 'killed.db');
const noticeFile = join(folder, 'notices');
const started: ChildProcess[] = [];
after(() => {
  for (const child of started) child.kill('SIGKILL');
  rmSync(folder, { recursive: true });
});

type Life = {
  readonly child: ChildProcess;
  readonly say: (line: string) => void;
  /** Resolves when so many lines have come, or the child is gone. */
  readonly heard: (lines: number) => Promise<void>;
  readonly lines: string[];
};

/** Starts the next service ahead of its turn: it loads its code and waits, touching nothing. */
function hatch(): Life {
  const child = spawn(process.execPath, [CHILD, storeFile, noticeFile, String(SEED), String(ROWS)], {
    stdio: ['pipe', 'pipe', 'inherit'],
    env: { ...process.env, NODE_COMPILE_CACHE: join(folder, 'code') },
  });
  started.push(child);
  // A kill tears the pipe down while we may be writing into it.
  child.stdin?.on('error', () => {});
  const lines: string[] = [];
  const waiting = new Set<{ readonly count: number; readonly done: () => void }>();
  const look = (gone: boolean): void => {
    for (const one of waiting) {
      if (!gone && lines.length < one.count) continue;
      waiting.delete(one);
      one.done();
    }
  };
  let gone = false;
  if (child.stdout !== null) {
    createInterface({ input: child.stdout }).on('line', (line) => {
      lines.push(line);
      look(gone);
    });
  }
  child.on('exit', () => {
    gone = true;
    look(gone);
  });
  return {
    child,
    lines,
    say: (line) => void child.stdin?.write(`${line}\n`),
    heard: (count) =>
      new Promise((resolve) => {
        if (gone || lines.length >= count) resolve();
        else waiting.add({ count, done: resolve });
      }),
  };
}

/** Counters, resets and hours as text; where an hour was seen live or read from history depends on the kills, so it is one. */
function contents(store: StorePort): string {
  const hours: Record<string, Slice['add']> = {};
  for (const { id, measures } of KILL_DEFS) {
    for (const slice of measures.flatMap((measure) => store.slices(id, measure, 0))) {
      const origin = slice.origin === 'assumed' ? 'assumed' : 'seen';
      const key = `${id} ${slice.measure} ${new Date(slice.hour).toISOString()} ${origin}`;
      const { low, best, high } = hours[key] ?? { low: 0, best: 0, high: 0 };
      hours[key] = { low: low + slice.add.low, best: best + slice.add.best, high: high + slice.add.high };
    }
  }
  const resets = KILL_DEFS.map(({ id }) => store.resets(id));
  const sorted = Object.entries(hours).sort(([a], [b]) => (a < b ? -1 : 1));
  return JSON.stringify(
    { states: [...store.counterStates()], cursors: [...store.cursors()].sort(), sorted, resets },
    null,
    1,
  );
}

function uninterrupted(): string {
  const feed = killFeed(SEED, ROWS);
  const store = openStore(join(folder, 'whole.db'), { clock: realClock, log: keptLog() });
  const { states, slices, resets } = foldObservations(KILL_DEFS, initialStates(KILL_DEFS), feed);
  const cursors = new Map(feed.map(({ entity, at }) => [entity, at]));
  store.commitCounts({ states: [...states.values()], slices, resets, cursors });
  const whole = contents(store);
  store.close();
  return whole;
}

test(`killed ${KILLS} times at any moment, counters, hours and reminders are those of an uninterrupted run`, async (t) => {
  t.diagnostic(`KILL_SEED=${SEED}`);
  const roll = dice(SEED + 1);
  const phases = new Map<string, number>();
  // A clean end keeps the compiled code for the others; a killed process keeps nothing.
  const warm = hatch();
  warm.say('end');
  await once(warm.child, 'exit');
  let world = 0;
  let next = hatch();
  for (let atWork = 0; atWork < KILLS; ) {
    const life = next;
    await life.heard(1);
    next = hatch();
    // What happened while no service ran is history by now.
    world = Math.min(ROWS, world + roll(40));
    life.say(`begin ${world}`);
    const bursts = roll(6);
    for (let burst = 0; burst < bursts; burst++) {
      const from = Math.max(0, world - roll(8));
      world = Math.min(ROWS, world + 1 + roll(25));
      life.say(`live ${from} ${world}`);
    }
    await life.heard(1 + roll(4 + bursts));
    await delay(roll(8));
    const exit = once(life.child, 'exit');
    life.child.kill('SIGKILL');
    const [, signal] = await exit;
    assert.equal(signal, 'SIGKILL', 'it was still running when it was killed');
    const last = life.lines.at(-1)?.split(' ')[0] ?? 'nothing';
    phases.set(last, (phases.get(last) ?? 0) + 1);
    // Killed while opening the store is a moment too, but does not count as one of the feed.
    if (last !== 'ready') atWork++;
  }
  t.diagnostic(`last word before the kill: ${JSON.stringify(Object.fromEntries(phases))}`);
  assert.ok(world > 1_000, 'the world went on between the kills');

  const seen = openStore(storeFile, { clock: realClock, log: keptLog(), readOnly: true });
  const midway = seen.cursors();
  seen.close();
  assert.ok(midway.size > 0, 'the killed services got somewhere');

  next.say(`begin ${ROWS}`);
  next.say('end');
  await once(next.child, 'exit');
  assert.equal(next.lines.at(-1), 'closed');

  const store = openStore(storeFile, { clock: realClock, log: keptLog() });
  assert.equal(contents(store), uninterrupted());

  const lampHours = store.counterStates().get('lamp')?.amounts['on-hours']?.best ?? 0;
  const due = KILL_LIMITS.filter((limit) => lampHours >= limit).map((limit) => reminderKey(partAt(limit), 1));
  assert.ok(due.length >= 20, `${due.length} parts fell due`);
  const told = readFileSync(noticeFile, 'utf8').trim().split('\n');
  assert.deepEqual([...told].sort(), [...due].sort(), 'each told once, and nothing else');
  const raised = store
    .journal(['reminder'])
    .flatMap(({ entry }) => (entry.kind === 'reminder' && entry.change === 'raised' ? [entry.key] : []));
  assert.deepEqual([...raised].sort(), [...due].sort());
  store.close();
});
