// What really ran in the past: the true running times of every device, from the seed.
import { DAY_MS, HOUR_MS, type InstantMs, MINUTE_MS, SECOND_MS } from '../../units/index.ts';
import { atLocal } from '../calendar.ts';
import { type Prng, prng, seedFor } from '../random.ts';
import { SCHEDULES } from '../schedules.ts';
import {
  evaporationLPerDay,
  FEED_PER_PRODUCT,
  type PlugKey,
  productLPerHour,
  TOP_OFF_L_PER_S,
  winterness,
} from '../tank/index.ts';
import { isClosed, METERS_AT_START, OVERHAUL_DAY, PRODUCT_L_PER_DAY } from './facts.ts';
import { createRuns, createTotal, type Runs, type Total } from './truth.ts';

export type PastSpan = { readonly firstDay: number; readonly lastDay: number };

export function pastRuns(seed: number, key: PlugKey, span: PastSpan): Runs {
  const random = prng(seedFor(seed, `past ${key}`));
  switch (key) {
    case 'heater_1':
      return cyclingRuns(span, random, (day) => ({
        starts: 0.444 * heater2Starts(day),
        hours: 0.1 + 4.4 * warmth(day),
      }));
    case 'heater_2':
      return cyclingRuns(span, random, (day) => ({ starts: heater2Starts(day), hours: 0.3 + 10 * warmth(day) }));
    case 'fans':
      return cyclingRuns(span, random, fanUse);
    case 'top_off':
      return topOffRuns(span, random);
    case 'ro_unit':
      return roWindows(seed, span).runs;
    case 'doser':
      return cyclingRuns(span, random, () => ({ starts: 24, hours: (24 * 15) / 3600 }), 0);
    case 'mixing_heater':
      return weeklyRuns(span, 6, 18 * HOUR_MS + 5 * MINUTE_MS, () => random.between(3.5, 5) * HOUR_MS);
    case 'mixing_pump':
      return weeklyRuns(span, 6, 18 * HOUR_MS, () => 17 * HOUR_MS);
    case 'lamp_bank_1':
    case 'lamp_bank_2':
    case 'led_strip':
    case 'algae_lamp':
      return dailyRuns(span, key);
    case 'return_pump':
      return steadyRuns(span, random, 0, [20, 28]);
    case 'skimmer':
      return steadyRuns(span, random, -2, [38, 50]);
    default:
      return steadyRuns(span, random, 0, null);
  }
}

/** 0 in high summer, 1 in deep winter. */
const warmth = (day: number): number => (winterness(day) + 1) / 2;

/** Short runs all winter, few in summer. */
export const heater2Starts = (day: number): number => 6 + 72 * Math.sqrt(warmth(day));

function fanUse(day: number): { readonly starts: number; readonly hours: number } {
  const heat = Math.max(0, -winterness(day) - 0.6) / 0.4;
  return { starts: 5 * heat, hours: 6 * heat };
}

/** Runs spread over the day; `loose` is how far each may slide within its share of the day. */
function cyclingRuns(
  span: PastSpan,
  random: Prng,
  use: (day: number) => { readonly starts: number; readonly hours: number },
  loose = 0.3,
): Runs {
  const runs = createRuns();
  let owed = 0;
  for (let day = span.firstDay; day <= span.lastDay; day += 1) {
    const { starts, hours } = use(day);
    owed += starts * (loose === 0 ? 1 : 1 + 0.05 * random.gaussian());
    const count = Math.max(0, Math.floor(owed));
    owed -= count;
    const from = atLocal(day, 0);
    const shareMs = (atLocal(day + 1, 0) - from) / count;
    for (let index = 0; index < count; index += 1) {
      const begin = from + (index + loose * random.next()) * shareMs + (loose === 0 ? 5 * MINUTE_MS : 0);
      const length = ((hours * HOUR_MS) / count) * (loose === 0 ? 1 : random.between(0.7, 1.3));
      runs.begin(begin);
      runs.end(begin + length);
    }
  }
  return runs;
}

function topOffRuns(span: PastSpan, random: Prng): Runs {
  const litresPerRun = 20 * TOP_OFF_L_PER_S;
  const runs = createRuns();
  let owed = 0;
  for (let day = span.firstDay; day <= span.lastDay; day += 1) {
    owed += (evaporationLPerDay(day) * (1 + 0.06 * random.gaussian())) / litresPerRun;
    const count = Math.floor(owed);
    owed -= count;
    const from = atLocal(day, 0);
    const shareMs = (atLocal(day + 1, 0) - from) / count;
    for (let index = 0; index < count; index += 1) {
      const begin = from + (index + 0.6 * random.next()) * shareMs;
      runs.begin(begin);
      runs.end(begin + (20 + 0.7 * random.gaussian()) * SECOND_MS);
    }
  }
  return runs;
}

export function topOffTotal(runs: Runs): Total {
  const total = createTotal();
  let litres = 0;
  for (let index = 0; index < runs.count; index += 1) {
    total.add(runs.from(index), litres);
    litres += ((runs.to(index) - runs.from(index)) / SECOND_MS) * TOP_OFF_L_PER_S;
    total.add(runs.to(index), litres);
  }
  return total;
}

/** Each week's product in two windows, Monday and Thursday from six; the meters are noted every minute. */
export function roWindows(seed: number, span: PastSpan): { readonly runs: Runs; readonly product: Total } {
  const random = prng(seedFor(seed, 'past RO windows'));
  const runs = createRuns();
  const product = createTotal();
  let litres: number = METERS_AT_START.productL;
  product.add(atLocal(span.firstDay, 0), litres);
  let owed = 0;
  for (let day = span.firstDay; day <= span.lastDay; day += 1) {
    owed += PRODUCT_L_PER_DAY;
    const weekday = ((day % 7) + 7) % 7;
    if (weekday !== 0 && weekday !== 3) continue;
    const wanted = owed * (1 + 0.04 * random.gaussian());
    owed -= wanted;
    const begin = atLocal(day, 6) + random.between(0, 2) * SECOND_MS;
    const perMs = productLPerHour(day) / HOUR_MS;
    const end = begin + wanted / perMs;
    runs.begin(begin);
    runs.end(end);
    product.add(begin, litres);
    for (let at = begin + MINUTE_MS; at < end; at += MINUTE_MS) product.add(at, litres + (at - begin) * perMs);
    litres += wanted;
    product.add(end, litres);
  }
  return { runs, product };
}

export const feedOfProduct = (productL: number): number =>
  METERS_AT_START.feedL + (productL - METERS_AT_START.productL) * FEED_PER_PRODUCT;

function weeklyRuns(span: PastSpan, weekday: number, fromMs: number, length: () => number): Runs {
  const runs = createRuns();
  for (let day = span.firstDay; day <= span.lastDay; day += 1) {
    if (((day % 7) + 7) % 7 !== weekday || isClosed(day + 1)) continue;
    const begin = atLocal(day, 0) + fromMs;
    runs.begin(begin);
    runs.end(begin + length());
  }
  return runs;
}

function dailyRuns(span: PastSpan, key: PlugKey): Runs {
  const schedule = SCHEDULES.find((one) => one.plug === key);
  const [on, off] = schedule?.edges ?? [];
  const runs = createRuns();
  if (on === undefined || off === undefined) return runs;
  const overnight = off.atMs < on.atMs;
  for (let day = overnight ? span.firstDay - 1 : span.firstDay; day <= span.lastDay; day += 1) {
    runs.begin(wallTime(day, on.atMs));
    runs.end(wallTime(overnight ? day + 1 : day, off.atMs));
  }
  return runs;
}

const wallTime = (day: number, ofDayMs: number): InstantMs =>
  atLocal(day, Math.floor(ofDayMs / HOUR_MS), (ofDayMs % HOUR_MS) / MINUTE_MS);

/** On all the time, except for the Monday pause and, longer, the overhaul. */
function steadyRuns(
  span: PastSpan,
  random: Prng,
  pauseFromMinute: number,
  pauseMinutes: readonly [number, number] | null,
): Runs {
  const runs = createRuns();
  runs.begin(atLocal(span.firstDay, 0) - DAY_MS);
  for (let day = span.firstDay; day <= span.lastDay && pauseMinutes !== null; day += 1) {
    if (((day % 7) + 7) % 7 !== 0 || isClosed(day)) continue;
    const begin = atLocal(day, 11, pauseFromMinute) + random.between(0, 8) * MINUTE_MS;
    const length = day === OVERHAUL_DAY ? 95 : random.between(...pauseMinutes);
    runs.end(begin);
    runs.begin(begin + length * MINUTE_MS);
  }
  return runs;
}
