// How long parts of a kind last, from lives that ended worn out and lives that were ended in time or still go on.

/** One life: how much it had, and whether it ended because the part was worn out. */
export type Life = { readonly used: number; readonly worn: boolean };

export type SurvivalStep = {
  readonly used: number;
  readonly atRisk: number;
  readonly worn: number;
  /** Share that lasts longer than `used`. */
  readonly lasting: number;
  /** Greenwood's standard error of that share. */
  readonly error: number;
};

/**
 * Kaplan-Meier: at each amount at which a part was found worn out, the share that lasts beyond it. A life that was ended in
 * time counts as at risk up to its end; one that ends where another is found worn out was still at risk there.
 */
export function kaplanMeier(lives: readonly Life[]): readonly SurvivalStep[] {
  const ends = [...new Set(lives.filter(({ worn }) => worn).map(({ used }) => used))].sort((a, b) => a - b);
  let lasting = 1;
  let greenwood = 0;
  return ends.map((used) => {
    const atRisk = lives.filter((life) => life.used >= used).length;
    const worn = lives.filter((life) => life.worn && life.used === used).length;
    lasting *= 1 - worn / atRisk;
    greenwood += worn / (atRisk * (atRisk - worn));
    return { used, atRisk, worn, lasting, error: lasting === 0 ? 0 : lasting * Math.sqrt(greenwood) };
  });
}

/** Share that lasts longer than `used`. */
export const lastingBeyond = (steps: readonly SurvivalStep[], used: number): number =>
  steps.findLast((step) => step.used <= used)?.lasting ?? 1;

/** Products of shares miss a share that they equal by a hair. */
const ROUNDING = 1e-12;

/** The amount at which no more than this share still lasts; null where so many never wore out. */
export const usedWhenLasting = (steps: readonly SurvivalStep[], share: number): number | null =>
  steps.find((step) => step.lasting <= share + ROUNDING)?.used ?? null;

/** exp(-(used / scale)^shape) of the parts last longer. Shape above 1: they wear out; 1: they fail by chance. */
export type Weibull = { readonly shape: number; readonly scale: number };

export const weibullLasting = ({ shape, scale }: Weibull, used: number): number =>
  used <= 0 ? 1 : Math.exp(-((used / scale) ** shape));

/** The amount that this share lasts beyond. */
export const weibullUsed = ({ shape, scale }: Weibull, lasting: number): number =>
  scale * (-Math.log(lasting)) ** (1 / shape);

/** Having lasted `used`, the share that lasts `more` on top. */
export const weibullFurther = (weibull: Weibull, used: number, more: number): number =>
  Math.exp((used / weibull.scale) ** weibull.shape - ((used + more) / weibull.scale) ** weibull.shape);

const HALVINGS = 200;
const LEAST_SHAPE = 0.05;
const MOST_SHAPE = 100;

/**
 * The Weibull life that makes these lives most likely, those ended in time included. Null where fewer than two differing
 * ones were worn out: one point fits any shape.
 */
export function fitWeibull(lives: readonly Life[]): Weibull | null {
  const usable = lives.filter(({ used }) => used > 0);
  const worn = usable.filter((life) => life.worn);
  if (new Set(worn.map(({ used }) => used)).size < 2) return null;
  // Amounts beside the longest one, so that powers of them stay small.
  const most = Math.max(...usable.map(({ used }) => used));
  const logs = usable.map(({ used }) => Math.log(used / most));
  const meanWorn = worn.reduce((sum, { used }) => sum + Math.log(used / most), 0) / worn.length;
  const score = (shape: number): number => {
    let sum = 0;
    let weighted = 0;
    for (const log of logs) {
      const power = Math.exp(shape * log);
      sum += power;
      weighted += power * log;
    }
    return weighted / sum - 1 / shape - meanWorn;
  };
  let [low, high] = [LEAST_SHAPE, MOST_SHAPE];
  for (let step = 0; step < HALVINGS && high - low > 1e-14 * high; step += 1) {
    const middle = (low + high) / 2;
    if (score(middle) < 0) low = middle;
    else high = middle;
  }
  const shape = (low + high) / 2;
  const powers = logs.reduce((sum, log) => sum + Math.exp(shape * log), 0);
  return { shape, scale: most * (powers / worn.length) ** (1 / shape) };
}
