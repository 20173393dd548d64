// A level that wanders and a season with two waves a year, fitted to weekly use by a Kalman filter for several assumed
// sizes of wandering and season, which are then averaged by how well each would have foretold what came.

/** Weeks of use, oldest first, with the angle of the year at the middle of each (2π a year). */
export type Weeks = { readonly use: readonly number[]; readonly angles: readonly number[] };

/** What is expected to be used in total after 1, 2, 3 … weeks, and the relative spread of it. */
export type Outlook = {
  readonly mean: Float64Array;
  /** Standard deviation of the logarithm of the total. */
  readonly spread: Float64Array;
  /** Expected use of each coming week beside its average: 1 is the average. */
  readonly season: Float64Array;
  /** How far the season swings, as a share of the level; 0 where none could be learned. */
  readonly swing: number;
};

/** Variances as multiples of a week's own noise: wandering a week, and the season's waves before any was seen. */
type Assumed = { readonly wander: number; readonly wave: number; readonly weight: number };

const ASSUMED: readonly Assumed[] = [0, 0.02, 0.2, 2].flatMap((wander) =>
  [0.01, 3, 40, 300].map((wave) => ({ wander, wave, weight: wave < 1 ? 0.5 : 0.25 })),
);

/** The second wave of a year is smaller than the first. */
const SECOND_WAVE = 0.1;
const STATES = 6;
/** Of a steady rise or fall a week, beside the wandering's. */
const SLOPE = 0.02;
/** A rise or fall does not go on for ever: what is left of it from week to week. */
const TIRES = 0.97;
/** After a year ahead the total is not thought to wander off any further. */
const SPREAD_WEEKS = 52;
/** Before any week was seen. */
const OPEN = 1e7;
/** Weeks of belief in the noise that the days show. */
const BELIEF = 2;
/** A week further off than this many spreads is an exception; a second one on the same side is a new level. */
const EXCEPTION = 3.5;
/** Weeks without an exception believed in beside those seen. */
const ODD_BELIEF = 4;
const LEAST_FOR_EXCEPTIONS = 6;
/** No week is expected to use less than this share of the level. */
const LEAST_SHARE = 0.02;

/** Noise grows with use: variances of each week's own noise beside the average week's. */
const noiseOf = (use: readonly number[]): readonly number[] => {
  const mean = use.reduce((sum, one) => sum + one, 0) / use.length;
  if (!(mean > 0)) return use.map(() => 1);
  return use.map((_, week) => {
    const near = use.slice(Math.max(0, week - 4), week + 5).sort((a, b) => a - b);
    return noiseAt(near[near.length >> 1] ?? mean, mean);
  });
};

const noiseAt = (level: number, mean: number): number => Math.min(9, Math.max(0.02, (level / mean) ** 2));

type Filtered = {
  readonly state: Float64Array;
  readonly cover: Float64Array;
  readonly logScore: number;
  readonly variance: number;
  readonly shares: readonly number[];
  readonly usual: number;
  /** Mean square of what exceptional weeks differed by, as a share of what was expected, over all weeks. */
  readonly odd: number;
};

const loading = (angle: number): Float64Array =>
  Float64Array.of(1, Math.cos(angle), Math.sin(angle), Math.cos(2 * angle), Math.sin(2 * angle), 0);

/** A week passes: the level moves on by the slope, and wanders. */
function pass(state: Float64Array | null, cover: Float64Array, wander: number): void {
  const slope = STATES - 1;
  if (state !== null) state[0] = (state[0] ?? 0) + (state[slope] ?? 0);
  for (let column = 0; column < STATES; column += 1)
    cover[column] = (cover[column] ?? 0) + (cover[slope * STATES + column] ?? 0);
  for (let row = 0; row < STATES; row += 1)
    cover[row * STATES] = (cover[row * STATES] ?? 0) + (cover[row * STATES + slope] ?? 0);
  cover[0] = (cover[0] ?? 0) + wander;
}

/** `dayVariance`: of a week's use by the scatter of its days alone. */
export function outlook(weeks: Weeks, dayVariance: number, ahead: readonly number[]): Outlook {
  const mean = new Float64Array(ahead.length);
  const square = new Float64Array(ahead.length);
  const season = new Float64Array(ahead.length);
  const loads = ahead.map(loading);
  const fits = fitAll(weeks, dayVariance);
  let swing = 0;
  for (const { filtered, assumed, share } of fits) {
    const path = predict(filtered, assumed, loads);
    for (let week = 0; week < ahead.length; week += 1) {
      const total = path.total[week] ?? 0;
      mean[week] = (mean[week] ?? 0) + share * total;
      square[week] = (square[week] ?? 0) + share * ((path.variance[week] ?? 0) + total * total);
      season[week] = (season[week] ?? 0) + share * (path.relative[week] ?? 1);
    }
    const [level = 0, cosine = 0, sine = 0] = filtered.state;
    if (level > 0) swing += share * (Math.hypot(cosine, sine) / level);
  }
  const spread = mean.map((total, week) =>
    total > 0 ? Math.sqrt(Math.log1p(Math.max(0, (square[week] ?? 0) - total * total) / (total * total))) : 0,
  );
  const widest = spread[SPREAD_WEEKS - 1] ?? 0;
  for (let week = SPREAD_WEEKS; week < spread.length; week += 1) spread[week] = Math.min(spread[week] ?? 0, widest);
  return { mean, spread, season, swing };
}

/** An assumption that foretold far worse than the others is left out. */
const LEAST_BELIEVED = 0.002;

type Seen = {
  readonly use: readonly number[];
  readonly loads: readonly Float64Array[];
  readonly noise: readonly number[];
  readonly usual: number;
  readonly dayVariance: number;
};

type Fit = { readonly filtered: Filtered; readonly assumed: Assumed; readonly share: number };

function fitAll(weeks: Weeks, dayVariance: number): readonly Fit[] {
  const { use } = weeks;
  const seen: Seen = {
    use,
    loads: weeks.angles.map(loading),
    noise: noiseOf(use),
    usual: use.reduce((total, one) => total + one, 0) / use.length,
    dayVariance,
  };
  const scale = firstLook(seen);
  const fits = ASSUMED.map((assumed) => ({ assumed, filtered: filter(seen, assumed, scale) }));
  const best = Math.max(...fits.map(({ filtered }) => filtered.logScore));
  const weights = fits.map(({ filtered, assumed }) => assumed.weight * Math.exp(filtered.logScore - best));
  const sum = weights.reduce((total, weight) => total + weight, 0);
  const shared = fits.map((fit, index) => ({ ...fit, share: (weights[index] ?? 0) / sum }));
  const kept = shared.filter(({ share }) => share > LEAST_BELIEVED);
  const left = kept.reduce((total, { share }) => total + share, 0);
  return kept.map((fit) => ({ ...fit, share: fit.share / left }));
}

/** Usual size of a surprise, untouched by a few great ones; 0 where too few weeks were seen to tell. */
function firstLook(seen: Seen): number {
  if (seen.use.length < LEAST_FOR_EXCEPTIONS) return 0;
  const { shares } = filter(seen, { wander: 0.1, wave: 2, weight: 1 }, 0);
  const sizes = shares
    .slice(1)
    .map(Math.abs)
    .sort((a, b) => a - b);
  return 1.4826 * (sizes[Math.floor(sizes.length / 2)] ?? 0);
}

/** All variances are kept as multiples of the week's own noise, which comes out last. */
function filter(seen: Seen, { wander, wave }: Assumed, scale: number): Filtered {
  const state = new Float64Array(STATES);
  const cover = new Float64Array(STATES * STATES);
  const { noise, usual, use: weeks } = seen;
  const gain = new Float64Array(STATES);
  [OPEN, wave, wave, wave * SECOND_WAVE, wave * SECOND_WAVE, wander * SLOPE].forEach((own, index) => {
    cover[index * STATES + index] = own;
  });
  const shares: number[] = [];
  let squares = BELIEF * seen.dayVariance;
  let logs = 0;
  let before = 0;
  let oddSquares = 0;
  weeks.forEach((use, index) => {
    const load = seen.loads[index] ?? gain;
    if (index > 0) pass(state, cover, wander);
    const surprise = use - dot(load, state);
    times(cover, load, gain);
    let total = dot(load, gain) + (noise[index] ?? 1);
    const size = scale > 0 ? surprise / (scale * Math.sqrt(total)) : 0;
    shares.push(index === 0 ? 0 : surprise / Math.sqrt(total));
    if (index > 0 && Math.abs(size) > EXCEPTION) {
      const share = surprise / Math.max(use - surprise, LEAST_SHARE * usual);
      oddSquares += share * share;
      const needed = total * (size / EXCEPTION) ** 2;
      if (before * Math.sign(size) >= 2) {
        cover[0] = (cover[0] ?? 0) + needed - total;
        times(cover, load, gain);
      }
      total = needed;
    }
    if (Math.abs(size) <= EXCEPTION) before = 0;
    else before = Math.sign(before) === Math.sign(size) ? before + Math.sign(size) : Math.sign(size);
    if (index > 0) {
      squares += (surprise * surprise) / total;
      logs += Math.log(total);
    }
    for (let row = 0; row < STATES; row += 1) {
      const own = (gain[row] ?? 0) / total;
      state[row] = (state[row] ?? 0) + own * surprise;
      for (let column = 0; column < STATES; column += 1)
        cover[row * STATES + column] = (cover[row * STATES + column] ?? 0) - own * (gain[column] ?? 0);
    }
  });
  const freedom = BELIEF + weeks.length - 1;
  const logScore = squares > 0 ? -0.5 * (logs + freedom * Math.log(squares)) : 0;
  return {
    state,
    cover,
    logScore,
    variance: squares / freedom,
    shares,
    usual,
    odd: oddSquares / (weeks.length + ODD_BELIEF),
  };
}

/** Expected totals and their variances, week by week, each week adding to all that came before. */
function predict(
  { state, cover, variance, usual, odd }: Filtered,
  { wander }: Assumed,
  ahead: readonly Float64Array[],
) {
  const total = new Float64Array(ahead.length);
  const spread = new Float64Array(ahead.length);
  const relative = new Float64Array(ahead.length);
  const now = Float64Array.from(cover);
  const at = Float64Array.from(state);
  const shared = new Float64Array(STATES);
  const gain = new Float64Array(STATES);
  let sum = 0;
  let own = 0;
  let oddVariance = 0;
  const level = Math.max(state[0] ?? 0, 0);
  ahead.forEach((load, week) => {
    pass(at, now, wander);
    at[STATES - 1] = (at[STATES - 1] ?? 0) * TIRES;
    // What the total so far shares with the level, it shares with the level moved on.
    shared[0] = (shared[0] ?? 0) + (shared[STATES - 1] ?? 0);
    times(now, load, gain);
    const expected = Math.max(dot(load, at), LEAST_SHARE * level);
    oddVariance += expected * expected * odd;
    own += dot(load, gain) + noiseAt(expected, usual) + 2 * dot(load, shared);
    for (let index = 0; index < STATES; index += 1) shared[index] = (shared[index] ?? 0) + (gain[index] ?? 0);
    sum += expected;
    total[week] = sum;
    spread[week] = own * variance + oddVariance;
    relative[week] = level > 0 ? expected / level : 1;
  });
  return { total, variance: spread, relative };
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let index = 0; index < STATES; index += 1) sum += (a[index] ?? 0) * (b[index] ?? 0);
  return sum;
}

function times(square: Float64Array, vector: Float64Array, result: Float64Array): void {
  for (let row = 0; row < STATES; row += 1) {
    let sum = 0;
    for (let column = 0; column < STATES; column += 1)
      sum += (square[row * STATES + column] ?? 0) * (vector[column] ?? 0);
    result[row] = sum;
  }
}
