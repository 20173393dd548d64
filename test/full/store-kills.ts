import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';
import { fullCheck } from '../../src/io/store/index.ts';
import {
  type Confirmed,
  confirmedBy,
  type Fact,
  missingIn,
  NOTHING_CONFIRMED,
  nextNumber,
  startChild,
} from './store-world.ts';

export type KillReport = {
  readonly kills: number;
  /** Kills whose last word was that a checkpoint had begun. */
  readonly duringCheckpoint: number;
  readonly confirmed: Confirmed;
  readonly lost: readonly string[];
  readonly damage: readonly string[];
};

/** Repeatable whole numbers in [0, below). */
export function dice(seed: number): (below: number) => number {
  let state = (seed ^ 0x9e37_79b9) >>> 0;
  return (below) => {
    state = (state + 0x6d2b_79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) % below;
  };
}

/** Kills a writer that empties its log all the time, again and again on one store, and looks after each kill. */
export async function killDuringCheckpoints(kills: number, seed: number): Promise<KillReport> {
  const folder = mkdtempSync(join(tmpdir(), 'slackwater-kills-'));
  const file = join(folder, 'killed.db');
  const roll = dice(seed);
  const [lost, damage]: [string[], string[]] = [[], []];
  let confirmed = NOTHING_CONFIRMED;
  let duringCheckpoint = 0;
  try {
    for (let kill = 0; kill < kills; kill++) {
      const facts = await killOne(file, confirmed, roll);
      if (facts.at(-1)?.checkpoint === 'begun') duringCheckpoint++;
      confirmed = confirmedBy(facts, confirmed);
      const found = fullCheck(file);
      if (found !== null) damage.push(`kill ${kill}: ${found}`);
      lost.push(...missingIn(file, confirmed).map((one) => `kill ${kill}: ${one}`));
    }
  } finally {
    rmSync(folder, { recursive: true });
  }
  return { kills, duringCheckpoint, confirmed, lost, damage };
}

async function killOne(file: string, confirmed: Confirmed, roll: (below: number) => number): Promise<Fact[]> {
  const until = 1 + roll(12);
  const ready = Promise.withResolvers<void>();
  let begun = 0;
  const child = startChild(file, {
    first: nextNumber(confirmed),
    checkpoint: true,
    onFact: (fact) => {
      if (fact.checkpoint === 'begun' && ++begun === until) ready.resolve();
    },
  });
  await Promise.race([ready.promise, child.ended]);
  await delay(roll(4));
  child.process.kill('SIGKILL');
  await child.ended;
  if (begun < until) throw new Error(`the writer ended by itself: ${JSON.stringify(child.facts.slice(-3))}`);
  return child.facts;
}
