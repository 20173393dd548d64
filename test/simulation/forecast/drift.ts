// Values that drift to a limit and wander on the way, each dated once from what was seen of it.
import { conditionReach } from '../../../src/forecast/index.ts';
import { prng, seedFor } from '../../../src/sim/index.ts';
import { DAY_MS } from '../../../src/units/index.ts';

const START = 48;
const LIMIT = 52.5;
const NOW = Date.UTC(2026, 5, 1);
const LONGEST_DAYS = 4_000;

export type DriftScore = {
  readonly drifts: number;
  /** Of those whose limit was not passed while they were watched: how many got a date, and how many lay in its band. */
  readonly dated: number;
  readonly inside: number;
  readonly medianErrorDays: number;
};

/** A pump's watts from 48 to 52.5 W: two to five hundredths a day, readings a tenth off, 40 to 90 days watched. */
export function driftScore(seeds: readonly number[]): DriftScore {
  let [drifts, inside] = [0, 0];
  const errors: number[] = [];
  for (const seed of seeds) {
    const random = prng(seedFor(seed, 'drift'));
    const perDay = random.between(0.02, 0.05);
    const wander = random.between(0.02, 0.08);
    const watched = Math.round(random.between(40, 90));
    let level = START;
    const step = (): void => {
      level += perDay + wander * random.gaussian();
    };
    const values: number[] = [];
    for (let day = 0; day < watched && level < LIMIT; day += 1) {
      step();
      values.push(level + 0.1 * random.gaussian());
    }
    if (level >= LIMIT) continue;
    drifts += 1;
    let ahead = 0;
    for (; level < LIMIT && ahead < LONGEST_DAYS; ahead += 1) step();
    const foreseen = conditionReach({ values, limit: LIMIT, now: NOW });
    if (foreseen === null) continue;
    const { early, likely, late } = foreseen.reach;
    errors.push(Math.abs((likely - NOW) / DAY_MS - ahead));
    // The day is known to a day: the limit was passed somewhere within it.
    if (NOW + ahead * DAY_MS >= early && NOW + (ahead - 1) * DAY_MS <= late) inside += 1;
  }
  errors.sort((a, b) => a - b);
  return { drifts, dated: errors.length, inside, medianErrorDays: errors[errors.length >> 1] ?? Number.NaN };
}
