// What really happens at the tank in a fault sequence: the script's own truth. It knows nothing of the hub or of the product.

/** One minute of the tank takes this long in the run. */
export const TANK_MINUTE_MS = 1_000;

/** What is counted: a device that is on or off, one that shows it by watts, its energy, a meter, pulses, a meter by the day. */
export type Kind = 'switch' | 'watts' | 'energy' | 'meter' | 'pulses' | 'daily';

/** Minutes on, starts, watt-hours or litres; all by the tank's clock. */
export type Amounts = Readonly<Record<string, number>>;

/** Watts above which a device runs, and below which it does not; in between it goes on as before. */
export const RUNS_ABOVE_W = 40;
export const RESTS_BELOW_W = 10;
/** Shorter peaks are no start, shorter dips no stop. */
export const SHORTEST_RUN_MS = TANK_MINUTE_MS;
export const SHORTEST_REST_MS = TANK_MINUTE_MS;

export const LITRES_PER_PULSE = 0.5;

type Moment = { readonly at: number; readonly value: number };

export type Device = {
  readonly kind: Kind;
  /** It changes at `at`: on or off as 1 or 0, watts, or litres (pulses) that have run since the last change. */
  happens(value: number, at: number): void;
  /** Its own meter now shows this: begun again at zero, or another one put in its place. What ran is not changed by it. */
  meterShows(reading: number): void;
  /** What it would tell the hub if asked. */
  says(): string;
  truth(from: number, to: number): Amounts;
  /** The most watts it ever drew. */
  peakWatts(): number;
};

const tidy = (value: number): number => Math.round(value * 1e6) / 1e6;

/** Sum of value × time, in value × tank-minutes. */
function area(moments: readonly Moment[], from: number, to: number, weight: (value: number) => number): number {
  let sum = 0;
  for (const [index, { at, value }] of moments.entries()) {
    const start = Math.max(at, from);
    const end = Math.min(moments[index + 1]?.at ?? to, to);
    if (end > start) sum += weight(value) * (end - start);
  }
  return sum / TANK_MINUTE_MS;
}

type Stretch = { readonly from: number; readonly to: number };

/** Stretches in which the watts say that it runs; the last may go on for ever. */
function running(moments: readonly Moment[]): readonly Stretch[] {
  const stretches: Stretch[] = [];
  let since: number | null = null;
  for (const { at, value } of moments) {
    if (value > RUNS_ABOVE_W) since ??= at;
    else if (value < RESTS_BELOW_W && since !== null) {
      stretches.push({ from: since, to: at });
      since = null;
    }
  }
  return since === null ? stretches : [...stretches, { from: since, to: Number.POSITIVE_INFINITY }];
}

/** Runs of the device: too short a rest does not end one, and one without a stretch of full length is none. */
function runStarts(stretches: readonly Stretch[]): readonly number[] {
  const runs: Stretch[][] = [];
  for (const stretch of stretches) {
    const open = runs.at(-1);
    const rest = stretch.from - (open?.at(-1)?.to ?? Number.NEGATIVE_INFINITY);
    if (open !== undefined && rest < SHORTEST_REST_MS) open.push(stretch);
    else runs.push([stretch]);
  }
  const counted = runs.filter((run) => run.some(({ from, to }) => to - from >= SHORTEST_RUN_MS));
  return counted.map((run) => run[0]?.from ?? 0);
}

const within = (list: readonly number[], from: number, to: number): number =>
  list.filter((at) => at >= from && at < to).length;

function byWatts(moments: readonly Moment[], from: number, to: number): Amounts {
  const stretches = running(moments);
  const on = stretches.reduce((sum, one) => sum + Math.max(0, Math.min(one.to, to) - Math.max(one.from, from)), 0);
  return { minutes: on / TANK_MINUTE_MS, starts: within(runStarts(stretches), from, to) };
}

function byState(moments: readonly Moment[], from: number, to: number): Amounts {
  const rises = moments.filter(({ value }, index) => value === 1 && moments[index - 1]?.value === 0);
  return {
    minutes: area(moments, from, to, (value) => value),
    starts: within(
      rises.map(({ at }) => at),
      from,
      to,
    ),
  };
}

export function createDevice(kind: Kind, reading = 0): Device {
  const moments: Moment[] = [{ at: 0, value: 0 }];
  const counts = kind === 'meter' || kind === 'pulses' || kind === 'daily';
  let meter = reading;
  return {
    kind,
    happens: (value, at) => {
      moments.push({ at, value });
      if (counts) meter = tidy(meter + value);
    },
    meterShows: (shown) => {
      meter = shown;
    },
    says: () => {
      const last = moments.at(-1)?.value ?? 0;
      if (kind === 'switch') return last === 1 ? 'on' : 'off';
      return String(counts ? meter : last);
    },
    peakWatts: () => Math.max(...moments.map(({ value }) => value)),
    truth: (from, to) => {
      if (kind === 'switch') return byState(moments, from, to);
      if (kind === 'watts') return byWatts(moments, from, to);
      if (kind === 'energy') return { wattHours: area(moments, from, to, (value) => value) / 60 };
      const ran = moments.filter(({ at }) => at >= from && at < to).reduce((sum, { value }) => sum + value, 0);
      return { litres: tidy(ran * (kind === 'pulses' ? LITRES_PER_PULSE : 1)) };
    },
  };
}
