// Daily use of a tank's devices, made from a seed: what a forecast is trained on and, with other settings, held against.
import { type Prng, prng, seedFor } from '../../../src/sim/index.ts';

/** What kind of device uses something day by day. Shares and factors are of the mean level. */
export type Setting = {
  readonly name: string;
  readonly base: number;
  /** Multipliers by day of the week, from Monday. */
  readonly weekday: readonly number[];
  /** Swing over the year about the mean, and the power its shape is bent by: below 1 = long high, short low. */
  readonly season: { readonly swing: number; readonly shape: number };
  readonly noise: { readonly sd: number; readonly memory: number };
  /** Spread of a slow wander, a week. */
  readonly wander: number;
  readonly growthPerYear: number;
  /** Stretches of other use: a closed house, a heat spell. */
  readonly spells: { readonly perYear: number; readonly days: readonly [number, number]; readonly factor: number };
  /** Lasting changes: another schedule, another pump. */
  readonly changes: { readonly perYear: number; readonly by: readonly [number, number] };
};

export type Series = { readonly setting: string; readonly use: Float64Array; readonly firstDayOfYear: number };

const YEAR = 365.25;

/** One tank's use over `days`, beginning on a weekday and a day of the year that the seed draws. */
export function makeSeries(setting: Setting, seed: number, days: number): Series {
  const random = prng(seedFor(seed, setting.name));
  const firstDayOfYear = Math.floor(random.next() * YEAR);
  const firstWeekday = Math.floor(random.next() * 7);
  // The coldest day differs from place to place, and by half a year between the hemispheres.
  const peak = random.next() < 0.75 ? 15 + random.between(-20, 20) : 197 + random.between(-20, 20);
  const spell = spellFactors(setting, random, days);
  const change = changeFactors(setting, random, days);
  const use = new Float64Array(days);
  let noise = 0;
  let wander = 0;
  const fresh = Math.sqrt(1 - setting.noise.memory ** 2);
  for (let day = 0; day < days; day += 1) {
    noise = setting.noise.memory * noise + fresh * random.gaussian();
    wander += (setting.wander / Math.sqrt(7)) * random.gaussian();
    const wave = Math.cos((2 * Math.PI * (firstDayOfYear + day - peak)) / YEAR);
    const bent = Math.sign(wave) * Math.abs(wave) ** setting.season.shape;
    const level = Math.exp(wander + (Math.log(1 + setting.growthPerYear) * day) / YEAR);
    const weekday = setting.weekday[(firstWeekday + day) % 7] ?? 1;
    const mean = setting.base * weekday * (1 + setting.season.swing * bent) * level;
    use[day] = Math.max(0, mean * (spell[day] ?? 1) * (change[day] ?? 1) * (1 + setting.noise.sd * noise));
  }
  return { setting: setting.name, use, firstDayOfYear };
}

function spellFactors({ spells }: Setting, random: Prng, days: number): Float64Array {
  const factors = new Float64Array(days).fill(1);
  for (let day = 0; day < days; day += 1) {
    if (random.next() >= spells.perYear / YEAR) continue;
    const end = day + Math.round(random.between(...spells.days));
    for (; day < Math.min(days, end); day += 1) factors[day] = spells.factor;
  }
  return factors;
}

function changeFactors({ changes }: Setting, random: Prng, days: number): Float64Array {
  const factors = new Float64Array(days);
  let factor = 1;
  for (let day = 0; day < days; day += 1) {
    if (random.next() < changes.perYear / YEAR) {
      const by = random.between(...changes.by);
      factor *= random.next() < 0.5 ? 1 + by : 1 / (1 + by);
    }
    factors[day] = factor;
  }
  return factors;
}
