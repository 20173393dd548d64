// Makes docs/forecast.md: `node test/simulation/forecast/page.ts > docs/forecast.md`. A test fails while the page is old.
import { foretell } from './backtest.ts';
import { driftScore } from './drift.ts';
import { score } from './score.ts';
import { HOLD_OUT, TRAINING } from './settings.ts';

/** Of both backtests; the calibration took others. */
export const SEEDS = Array.from({ length: 40 }, (_, index) => 50_001 + index);
export const DRIFT_SEEDS = Array.from({ length: 400 }, (_, index) => index + 1);

const percent = (share: number): string => `${(100 * share).toFixed(1)} %`;
const days = (value: number): string => value.toFixed(1);

const HEAD = `# Forecasts

How dates are found, and how far they can be trusted. \`node test/simulation/forecast/page.ts\` makes this page.

## Usage limits

\`due\` gives a likely date and two others between which eight of ten limits are reached. They rest on the use of up to two
years, day by day, as it was counted:

- weeks are fitted with a level that wanders, a steady rise or fall that tires, and a season of two waves a year. Sixteen
  assumptions of how much a level wanders and a season swings are tried and weigh by how well each would have foretold the
  weeks that came. With less than a year the season is not known, and the band is as wide as that leaves it;
- a week far off the rest (a closed house, a heat spell) is an exception: it does not move the level, but it widens the band.
  The third such week running is a new level;
- within a week, days keep the shape of the last twelve: water that is made on two days reaches its limit on one of them;
- the edges of the band are set by what simulated tanks did beside what was foretold for them, by how even the weeks are,
  length of history and time ahead. Even weeks are those of a timer or a pump that always runs, ragged ones those of heaters
  and top-off. Where the count itself has bounds, the early date rests on the upper and the late one on the lower;
- with less than a week of days a plain rate is used, with less than three none: no date is better than an invented one.

Age needs no forecast. What is due already is dated back by the rate of the last four weeks. Nothing is dated further ahead than
ten years.

## Condition limits

Where steady watts drift (a pump that scales up, a skimmer's air way), a line through the medians of days gives the drift
(Theil-Sen), Mann-Kendall says whether there is one at all, and first-passage times of a walk with that drift give the dates, with
the doubt about slope, level and wandering in the band. The first of all dates is the part's. A trend may bring a date forward,
never put one off.

## Lengths of life

\`limits\` shows what past lives say of a limit: Kaplan-Meier and a Weibull life, with lives that were ended in time counted as
such. Limits change only when a person agrees, and never get longer for a part that guards against harm.

## Held against what came
`;

export function forecastPage(result = score(foretell(HOLD_OUT, SEEDS))): string {
  const drifts = driftScore(DRIFT_SEEDS);
  const { coverage, bootstrapCoverage, widthDays } = result;
  const { mean, median } = widthDays;
  const named: readonly (readonly [string, (typeof result.bySetting)[string]])[] = [
    ...Object.entries(result.byDaysAhead).map(([name, own]) => [`${name} days ahead`, own] as const),
    ...Object.entries(result.bySteadiness).map(([name, own]) => [`weeks that are ${name}`, own] as const),
    ...Object.entries(result.bySetting),
  ];
  const table = (row: (own: (typeof result.bySetting)[string]) => readonly string[]): string =>
    named.map(([label, own]) => `| ${[label, ...row(own)].join(' | ')} |`).join('\n');
  const pair = (own: (typeof result.bySetting)[string], of: 'ours' | 'weeklyBootstrap' | 'bootstrapStretched') =>
    `${days(own.widthDays.mean[of])} / ${days(own.widthDays.median[of])}`;
  return `${HEAD}
${result.forecasts} forecasts for ${result.tanks} simulated tanks of ${HOLD_OUT.length} kinds, none of which was among the ${TRAINING.length} that the bands were
calibrated on; histories of 28 to 600 days.

- ${percent(coverage.share)} of the dates lie within their bands (95 % interval by tanks: ${percent(coverage.low)} to ${percent(coverage.high)}); the goal is 80 %.
- Bands are ${days(mean.ours)} days wide on average, ${days(median.ours)} in the median: the widest twentieth of them, far
  dates with less than a year of history, most of them of heaters, make ${percent(result.widestTwentieth)} of all the width. Whole weeks of the same histories, drawn at random, give bands of
  ${days(mean.weeklyBootstrap)} days (median ${days(median.weeklyBootstrap)}), but only ${percent(bootstrapCoverage.share)} of the dates lie in those.
- Stretched, for each time ahead, until they hold as many dates as ours, they are ${days(mean.bootstrapStretched)} days wide on average, ${days(median.bootstrapStretched)} in
  the median.

Medians of how far the likely date lay from the true one, in days, beside two plain rates:

| limit reached in / kind | inside | ours | overall mean rate | last seven days |
| --- | --: | --: | --: | --: |
${table(({ coverage: own, errorDays: { ours, overallMeanRate, lastSevenDays } }) => [percent(own), days(ours), days(overallMeanRate), days(lastSevenDays)])}

Widths of the bands in days, mean / median, beside those of weeks drawn at random, as they are and stretched by kind to hold as
many dates as ours:

| limit reached in / kind | inside | ours | weeks drawn | inside those | weeks drawn, stretched |
| --- | --: | --: | --: | --: | --: |
${table((own) => [percent(own.coverage), pair(own, 'ours'), pair(own, 'weeklyBootstrap'), percent(own.bootstrapCoverage), pair(own, 'bootstrapStretched')])}

Not every kind is covered alike: what is nearly constant lies in its band more often than eight times in ten, a house with long
closures less often.

Of ${drifts.drifts} simulated pumps that drift to 109 % of their watts, ${drifts.dated} got a date after 40 to 90 days and ${percent(drifts.inside / drifts.dated)} came to the limit within
the band; the median error was ${days(drifts.medianErrorDays)} days.
`;
}

if (import.meta.main) process.stdout.write(forecastPage());
