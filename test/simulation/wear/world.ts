// Ninety days of the demo tank a minute at a time: water, heat, light and watts with their noise, and one planted condition.
import type { ConditionBatch, ServiceMark } from '../../../src/condition/index.ts';
import { PLUG_KEYS, type PlugKey, prng, seedFor } from '../../../src/sim/index.ts';
import { DAY_MS, HOUR_MS, type InstantMs, MINUTE_MS } from '../../../src/units/index.ts';
import { createHeatModel, type HeatModel } from './heat-model.ts';
import type { Life } from './life.ts';
import { createLightModel, type LightModel } from './light-model.ts';
import { createPlug, createReports, type Plug, type Reports, sdOf, wattsOf } from './meters.ts';
import type { Plant } from './plants.ts';
import { healthy, type Truth } from './truth.ts';
import { createWaterModel, type WaterModel } from './water-model.ts';

export type WorldOptions = {
  readonly seed: number;
  readonly plant: Plant | null;
  readonly days?: number;
  /** Plugs that are simulated; all of them otherwise. */
  readonly plugs?: readonly PlugKey[];
  /** Not by the seed: the season on the first day (0 = deep winter), and when the condition begins, in days. */
  readonly fixed?: { readonly season: number; readonly onsetDays: number };
  /** A long time with its closures, weather and care, in place of a window of the seed's own choice. */
  readonly life?: Life;
};

export type Minute = {
  readonly at: InstantMs;
  /** Of the window, from 0. */
  readonly day: number;
  readonly weekday: number;
  readonly ofDayMin: number;
  /** Day of the year by the tank's season: 0 = deep winter. */
  readonly season: number;
  readonly truth: Truth;
  /** The weekly pause: return and skimmer stand still. */
  readonly paused: boolean;
  /** The hub does not hear anything. */
  readonly deaf: boolean;
  /** Nobody is there: no water is changed. */
  readonly closed: boolean;
};

export type Shared = {
  readonly seed: number;
  readonly reports: Reports;
  readonly plugs: ReadonlyMap<PlugKey, Plug>;
  /** Days since this was last cleaned or renewed. */
  readonly wornDays: (key: PlugKey, minute: Minute) => number;
};

/** A Monday. */
export const WINDOW_START: InstantMs = Date.UTC(2026, 0, 5);
const SEASON_DAYS = 365;

/** Changes slowly, so that most minutes share one. */
const ALL_WELL = healthy();
const HOT: Truth = { ...healthy(), heatSpell: true };

function truthAt({ onset, life }: Plan, plant: Plant | null, at: InstantMs): Truth {
  if (life?.isHot(Math.floor((at - WINDOW_START) / DAY_MS))) return HOT;
  if (plant === null || onset === null || at < onset) return ALL_WELL;
  const days = (at - onset) / DAY_MS;
  if (days >= (plant.lastsDays ?? Number.POSITIVE_INFINITY)) return ALL_WELL;
  const truth = healthy();
  plant.apply(truth, days);
  return truth;
}

export type World = {
  /** When the condition began; null where nothing is planted. */
  readonly onset: InstantMs | null;
  readonly days: number;
  day(index: number): ConditionBatch;
  /** Nothing is heard at this moment; the weekly pause is under way. */
  isDeaf(at: InstantMs): boolean;
  isPaused(at: InstantMs): boolean;
};

type Plan = {
  readonly life: Life | null;
  readonly season: number;
  readonly onset: InstantMs | null;
  readonly gaps: readonly { readonly from: InstantMs; readonly to: InstantMs }[];
  readonly dipDays: readonly number[];
  readonly bumps: readonly InstantMs[];
  readonly swap: { readonly key: 'circulation_left' | 'circulation_right'; readonly at: InstantMs };
  readonly swapConfirmedAt: InstantMs;
  readonly pauses: ReadonlyMap<number, { readonly from: number; readonly to: number }>;
};

/** The same noise as in a window of ninety days, for as long as it lasts. */
const WINDOW_DAYS = 90;

function planOf({ seed, plant, fixed, life: lived }: WorldOptions, days: number): Plan {
  const life = lived ?? null;
  const random = prng(seedFor(seed, `wear plan ${plant?.name ?? 'healthy'}`));
  const windows = life === null ? 1 : Math.ceil(days / WINDOW_DAYS);
  const within = (from: number, to: number): InstantMs =>
    WINDOW_START + Math.floor(random.between(from, to) * 1_440) * MINUTE_MS;
  // The window's middle lies in the season that shows the condition.
  const season =
    plant?.season === 'winter'
      ? random.between(-80, -10)
      : plant?.season === 'summer'
        ? random.between(110, 165)
        : random.between(0, SEASON_DAYS);
  const pauses = new Map<number, { from: number; to: number }>();
  for (let day = 0; day < days; day += 7) {
    if (life?.isClosed(day)) continue;
    const from = 660 + Math.floor(random.between(0, 9));
    pauses.set(day, { from, to: from + Math.floor(random.between(20, 28)) });
  }
  const swapAt = WINDOW_START + (life?.swap.day ?? 42) * DAY_MS + Math.floor(random.between(9, 16) * 60) * MINUTE_MS;
  return {
    life,
    season: life?.season ?? fixed?.season ?? season,
    onset:
      plant === null
        ? null
        : fixed === undefined
          ? within(25, plant.latestDay)
          : WINDOW_START + Math.round(fixed.onsetDays * 1_440) * MINUTE_MS,
    gaps: Array.from({ length: 3 * windows }, () => {
      const from = within(2, days - 1);
      return { from, to: from + Math.floor(random.between(4, 90)) * MINUTE_MS };
    }),
    dipDays: Array.from({ length: 3 * windows }, (_, index) =>
      Math.floor(random.between(8 + index * 27, 30 + index * 27)),
    ),
    bumps: Array.from({ length: 6 * windows }, () => within(1, days)),
    swap: { key: life?.swap.key ?? 'circulation_right', at: swapAt },
    swapConfirmedAt: swapAt + Math.floor(random.between(5, 300)) * MINUTE_MS,
    pauses,
  };
}

export function createWorld(options: WorldOptions): World {
  const { seed, plant, days = 90 } = options;
  const plan = planOf(options, days);
  const random = prng(seedFor(seed, `wear world ${plant?.name ?? 'healthy'}`));
  const wanted = options.plugs ?? PLUG_KEYS;
  const plugs = new Map(wanted.map((key) => [key, createPlug(seed, key)]));
  const wornDays: Shared['wornDays'] = (key, minute) =>
    plan.life === null ? daysOf(minute) : plan.life.wornDays(key, daysOf(minute));
  const shared: Shared = { seed, reports: createReports(random), plugs, wornDays };
  const models = {
    heat: createHeatModel(shared),
    light: createLightModel(shared),
    water: createWaterModel(shared),
    steady: steadyOf(plugs),
  };
  return {
    onset: plan.onset,
    days,
    isDeaf: (at) => isDeaf(plan, at),
    isPaused(at) {
      const day = Math.floor((at - WINDOW_START) / DAY_MS);
      return isPaused(plan, day, (at - WINDOW_START - day * DAY_MS) / MINUTE_MS);
    },
    day(index) {
      shared.reports.observations = [];
      for (const plug of plugs.values()) plug.minutes = [];
      for (let ofDayMin = 0; ofDayMin < 1_440; ofDayMin += 1) {
        const at = WINDOW_START + index * DAY_MS + ofDayMin * MINUTE_MS;
        step(minuteOf(plan, plant, { index, ofDayMin, at }), plan, shared, models);
      }
      return {
        minutes: [...plugs.values()].map(({ entity, minutes }) => ({ entity, minutes })),
        observations: shared.reports.observations,
        services: servicesOn(plan, index),
        until: WINDOW_START + (index + 1) * DAY_MS,
      };
    },
  };
}

const isDeaf = ({ gaps }: Plan, at: InstantMs): boolean => gaps.some((gap) => at >= gap.from && at < gap.to);

function isPaused({ pauses }: Plan, day: number, ofDayMin: number): boolean {
  const pause = pauses.get(day);
  return pause !== undefined && ofDayMin >= pause.from && ofDayMin < pause.to;
}

function minuteOf(
  plan: Plan,
  plant: Plant | null,
  { index, ofDayMin, at }: { index: number; ofDayMin: number; at: number },
): Minute {
  const truth = truthAt(plan, plant, at);
  return {
    ...{ at, day: index, weekday: index % 7, ofDayMin, truth, season: plan.season + index },
    paused: isPaused(plan, index, ofDayMin),
    deaf: isDeaf(plan, at),
    closed: plan.life?.isClosed(index) ?? false,
  };
}

const SKIMMER_CLEANED_DAYS = 28;

/** What the keeper confirmed: the skimmer's cleaning, and the swapped pump some time after it was swapped. */
function servicesOn({ life, swap, swapConfirmedAt }: Plan, day: number): ServiceMark[] {
  const marks: ServiceMark[] = [];
  const noon = WINDOW_START + day * DAY_MS + 12 * HOUR_MS;
  for (const { equipment, part } of life?.caredFor(day) ?? [])
    marks.push({ at: noon, what: 'serviced', equipment, ...(part === undefined ? {} : { part }) });
  if (day > 0 && day % SKIMMER_CLEANED_DAYS === 0) marks.push({ at: noon, what: 'serviced', equipment: 'skimmer' });
  if (Math.floor((swapConfirmedAt - WINDOW_START) / DAY_MS) === day)
    marks.push({ at: swapConfirmedAt, what: 'serviced', equipment: swap.key.replace('_', '-') });
  return marks;
}

function step(
  minute: Minute,
  plan: Plan,
  shared: Shared,
  models: {
    readonly heat: HeatModel;
    readonly light: LightModel;
    readonly water: WaterModel;
    readonly steady: readonly Steady[];
  },
): void {
  const dip = plan.dipDays.includes(minute.day);
  models.water.step(minute);
  models.heat.step(minute, dip);
  models.light.step(minute, dip);
  steadyPlugs(minute, plan, models.steady, shared, dip);
  if (minute.deaf) {
    // Nothing of this minute arrives; relays and floats are heard again after it.
    for (const plug of shared.plugs.values()) plug.minutes.pop();
    shared.reports.observations = shared.reports.observations.filter(({ at }) => at < minute.at);
    shared.reports.forget();
  }
}

type Load = { readonly on: boolean; readonly watts: number; readonly sd: number };
type WornDays = (key: PlugKey) => number;
type LoadOf = (minute: Minute, plan: Plan, wornDays: WornDays) => Load;

const always =
  (key: PlugKey): LoadOf =>
  () => ({ on: true, watts: wattsOf(key), sd: sdOf(key) });
const daysOf = ({ day, ofDayMin }: Minute): number => day + ofDayMin / 1_440;
const isMixing = ({ weekday, ofDayMin }: Minute): boolean =>
  (weekday === 6 && ofDayMin >= 1_080) || (weekday === 0 && ofDayMin < 660);

const SWAPPED_W = 18;

function circulationW(key: Plan['swap']['key'], minute: Minute, { swap, life }: Plan, wornDays: WornDays): number {
  const worn = 1 + (0.02 * wornDays(key)) / 90;
  if (swap.key !== key || minute.at < swap.at) return wattsOf(key) * worn;
  return life === null ? SWAPPED_W : SWAPPED_W * worn;
}

/** Pumps and what else runs all day, with the slow wear of a healthy tank. */
const LOADS: Readonly<Partial<Record<PlugKey, LoadOf>>> = {
  return_pump(minute, _, wornDays) {
    const { watts, dry } = minute.truth.returnPump;
    const usual = wattsOf('return_pump') * (1 + (0.04 * wornDays('return_pump')) / 90);
    return { on: !minute.paused, watts: usual * watts * (dry ? 0.55 : 1), sd: dry ? 5 : sdOf('return_pump') };
  },
  circulation_left(minute, plan, wornDays) {
    const { watts, spread, still } = minute.truth.circulation;
    if (still) return { on: true, watts: 3.2, sd: 0.2 };
    return {
      on: true,
      watts: circulationW('circulation_left', minute, plan, wornDays) * watts,
      sd: sdOf('circulation_left') * spread,
    };
  },
  circulation_right: (minute, plan, wornDays) => ({
    on: true,
    watts: circulationW('circulation_right', minute, plan, wornDays),
    sd: sdOf('circulation_right'),
  }),
  skimmer(minute) {
    const salted = (daysOf(minute) % SKIMMER_CLEANED_DAYS) / 30;
    const watts = (wattsOf('skimmer') + salted) * minute.truth.skimmer;
    return { on: !minute.paused, watts, sd: sdOf('skimmer') };
  },
  uv_unit: ({ truth }) => ({ on: true, watts: wattsOf('uv_unit') * (truth.uvOut ? 0.35 : 1), sd: sdOf('uv_unit') }),
  algae_pump: always('algae_pump'),
  media_pump: always('media_pump'),
  hub_network: always('hub_network'),
  mixing_pump: (minute) => ({ on: isMixing(minute), watts: wattsOf('mixing_pump'), sd: sdOf('mixing_pump') }),
  mixing_heater: (minute) => ({
    on: isMixing(minute) && minute.ofDayMin % 30 < 20,
    watts: wattsOf('mixing_heater'),
    sd: sdOf('mixing_heater'),
  }),
  algae_lamp: ({ ofDayMin }) => ({
    on: ofDayMin < 600 || ofDayMin >= 1_200,
    watts: wattsOf('algae_lamp'),
    sd: sdOf('algae_lamp'),
  }),
  doser: ({ ofDayMin }) => ({ on: true, watts: ofDayMin % 60 === 5 ? 3.25 : 2, sd: 0.05 }),
};

type Steady = { readonly key: PlugKey; readonly plug: Plug; readonly load: LoadOf };

const steadyOf = (plugs: ReadonlyMap<PlugKey, Plug>): readonly Steady[] =>
  [...plugs].flatMap(([key, plug]) => {
    const load = LOADS[key];
    return load === undefined ? [] : [{ key, plug, load }];
  });

function steadyPlugs(minute: Minute, plan: Plan, steady: readonly Steady[], shared: Shared, dip: boolean): void {
  const { at, ofDayMin } = minute;
  const { reports } = shared;
  const wornDays = (key: PlugKey): number => shared.wornDays(key, minute);
  // Mains a little low moves pumps by little.
  const mains = dip && ofDayMin > 300 && ofDayMin < 1_300 ? 0.98 : 1;
  for (const { key, plug, load } of steady) {
    const { on, watts, sd } = load(minute, plan, wornDays);
    reports.state(plug.relay, at, on);
    // Twenty seconds out of its socket.
    if (key === 'skimmer' && on && plan.bumps.includes(at))
      plug.minutes.push({ minute: at, knownMs: MINUTE_MS, minW: 0.2, meanW: (watts * 2) / 3, maxW: watts });
    else plug.minute(at, on ? 1 : 0, watts * mains, sd);
  }
}
