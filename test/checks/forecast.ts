import {
  claimedHours,
  type Drift,
  firstPassage,
  fitFading,
  fitWeibull,
  hoursTo,
  kaplanMeier,
  type Life,
  passageQuantile,
  passedWithin,
  shareAfter,
  usedWhenLasting,
  weibullFurther,
  weibullLasting,
  weibullUsed,
} from '../../src/forecast/index.ts';
import type { Solvers } from './types.ts';

type Lives = { readonly durations: readonly number[]; readonly worn: readonly number[] };
const livesOf = ({ durations, worn }: Lives): readonly Life[] =>
  durations.map((used, index) => ({ used, worn: worn[index] === 1 }));

type Weibull = { readonly shape: number; readonly scale: number };
type Light = { readonly hours: readonly number[]; readonly shares: readonly number[] };

const fadingOf = ({ hours, shares }: Light) => {
  const fading = fitFading(hours, shares);
  if (fading === null) throw new Error('no fit');
  return fading;
};

export const solvers: Solvers = {
  'first-passage': (drift: Drift) => ({
    mean: firstPassage(drift).meanDays,
    var: firstPassage(drift).varianceDays,
    p10: passageQuantile(drift, 0.1),
    p50: passageQuantile(drift, 0.5),
    p90: passageQuantile(drift, 0.9),
  }),
  'passed-within': ({ days, ...drift }: Drift & { readonly days: readonly number[] }) =>
    days.map((one) => passedWithin(drift, one)),
  'kaplan-meier': (lives: Lives) => {
    const steps = kaplanMeier(livesOf(lives));
    return {
      at: steps.map((step) => step.used),
      lasting: steps.map((step) => step.lasting),
      atRisk: steps.map((step) => step.atRisk),
      median: usedWhenLasting(steps, 0.5),
    };
  },
  greenwood: (lives: Lives) =>
    kaplanMeier(livesOf(lives))
      .filter((step) => step.lasting > 0)
      .map((step) => step.error),
  'weibull-fit': (lives: Lives) => {
    const { shape, scale } = fitWeibull(livesOf(lives)) ?? { shape: Number.NaN, scale: Number.NaN };
    return { shape, scale };
  },
  weibull: ({ shape, scale, used }: Weibull & { readonly used: number }) => ({
    sf: weibullLasting({ shape, scale }, used),
    median: weibullUsed({ shape, scale }, 0.5),
    B10: weibullUsed({ shape, scale }, 0.9),
  }),
  'weibull-further': ({ shape, scale, used, more }: Weibull & { readonly used: number; readonly more: number }) =>
    weibullFurther({ shape, scale }, used, more),
  'lamp-fading': (light: Light) => {
    const fading = fadingOf(light);
    const at = (share: number): number => hoursTo(fading, share);
    return { alpha: fading.ratePerHour, B: fading.start, L70_h: at(0.7), L80_h: at(0.8), L90_h: at(0.9) };
  },
  'lamp-claim': ({ test_h, L70_h }: { readonly test_h: number; readonly L70_h: number }) => claimedHours(L70_h, test_h),
  'lamp-hours': ({
    B,
    alpha_per_h,
    share,
  }: {
    readonly B: number;
    readonly alpha_per_h: number;
    readonly share: number;
  }) => hoursTo({ start: B, ratePerHour: alpha_per_h }, share),
  'lamp-share': ({
    B,
    alpha_per_h,
    hours,
  }: {
    readonly B: number;
    readonly alpha_per_h: number;
    readonly hours: number;
  }) => shareAfter({ start: B, ratePerHour: alpha_per_h }, hours),
};
