// Backtest on settings the forecast was never tuned on: `node test/simulation/forecast/main.ts [--seeds 40] [--json]`.
// `--training` shows the same for the settings it was tuned on, with other seeds.
import { parseArgs } from 'node:util';
import { foretell } from './backtest.ts';
import { driftScore } from './drift.ts';
import { score } from './score.ts';
import { HOLD_OUT, TRAINING } from './settings.ts';

const { values } = parseArgs({
  options: {
    seeds: { type: 'string', default: '40' },
    json: { type: 'boolean', default: false },
    training: { type: 'boolean', default: false },
  },
});
const settings = values.training ? TRAINING : HOLD_OUT;
const seeds = Array.from({ length: Number(values.seeds) }, (_, index) => 50_001 + index);
const result = {
  ...score(foretell(settings, seeds)),
  conditionDrift: driftScore(Array.from({ length: 10 * seeds.length }, (_, index) => index + 1)),
};

if (values.json) console.log(JSON.stringify(result, null, 2));
else {
  const percent = (share: number): string => `${(100 * share).toFixed(1)} %`;
  const { coverage, bootstrapCoverage, widthDays, bootstrapStretchedBy } = result;
  console.log(
    `${result.forecasts} forecasts for ${result.tanks} tanks, ${values.training ? 'training' : 'hold-out'} settings`,
  );
  console.log(
    `inside the 10-90 % band: ${percent(coverage.share)} (95 % ${percent(coverage.low)} to ${percent(coverage.high)})`,
  );
  console.log(`weekly bootstrap: ${percent(bootstrapCoverage.share)}`);
  for (const which of ['mean', 'median'] as const) {
    const { ours, weeklyBootstrap, bootstrapStretched } = widthDays[which];
    console.log(
      `${which} width: ${ours.toFixed(1)} d, weekly bootstrap ${weeklyBootstrap.toFixed(1)} d, stretched to cover as much ${bootstrapStretched.toFixed(1)} d`,
    );
  }
  console.log(
    `  stretched ${bootstrapStretchedBy.toFixed(2)} times; the widest twentieth of our bands is ${percent(result.widestTwentieth)} of all their width`,
  );
  const line = (name: string, own: (typeof result.byDaysAhead)[string]): string =>
    [
      name.padStart(42),
      percent(own.coverage),
      ...[own.errorDays.ours, own.errorDays.weeklyBootstrap, own.errorDays.overallMeanRate, own.errorDays.lastSevenDays]
        .concat(Object.values(own.widthDays.mean), Object.values(own.widthDays.median))
        .map((days) => days.toFixed(2).padStart(7)),
    ].join(' ');
  console.log(
    'inside; median error in days: ours, bootstrap, overall mean, last 7 days; width, mean and median: ours, bootstrap, stretched',
  );
  for (const [days, own] of Object.entries(result.byDaysAhead)) console.log(line(`${days} days ahead`, own));
  for (const [name, own] of Object.entries(result.bySteadiness)) console.log(line(`use: ${name}`, own));
  for (const [name, own] of Object.entries(result.bySetting)) console.log(line(name, own));
}
