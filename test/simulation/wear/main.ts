// How well conditions are found: `node test/simulation/wear/main.ts --seeds 200 [--from 1001]
// [--only text] [--part 1/2] [--verbose] [--json]`.
// Windows of 90 days with noise; each condition alone in the signals it needs, and whole healthy tanks for false alarms.
import { DAY_MS, HOUR_MS } from '../../../src/units/index.ts';
import { summary } from './summary.ts';
import { PLANTS, runTrial, type Trial } from './trial.ts';

function option(name: string, fallback: string): string {
  const at = process.argv.indexOf(`--${name}`);
  return at === -1 ? fallback : (process.argv[at + 1] ?? fallback);
}

const seeds = Number(option('seeds', '20'));
const from = Number(option('from', '1001'));
const only = option('only', '');
const verbose = process.argv.includes('--verbose');

/** `--part 2/3`: every third of the list, from the second on. */
const [part = 1, parts = 1] = option('part', '1/1').split('/').map(Number);

const trials: Trial[] = [];
const plants = [
  ...PLANTS.filter(({ name }) => name.includes(only)),
  ...(only === '' || only === 'healthy' ? [null] : []),
].filter((_, index) => index % parts === part - 1);
for (const plant of plants) {
  const started = performance.now();
  for (let seed = from; seed < from + seeds; seed += 1) {
    const trial = runTrial(seed, plant);
    trials.push(trial);
    if (!verbose) continue;
    const { onset } = trial;
    if (plant !== null && trial.first === null) process.stderr.write(`  missed, seed ${seed}, ${plant.name}\n`);
    for (const one of trial.falseAlarms)
      process.stderr.write(
        `  false, seed ${seed}, ${plant?.name ?? 'healthy'}, day ${((one.heardAt - (onset ?? 0)) / DAY_MS).toFixed(2)}: ${one.kind} ${one.sure} ${one.evidence}\n`,
      );
  }
  const ms = (performance.now() - started) / seeds;
  const own = summary(trials.filter((trial) => trial.plant === (plant?.name ?? null)));
  const found = own.conditions.map((row) => `${row.found} of ${row.windows} found, `).join('');
  process.stderr.write(
    `${plant?.name ?? 'healthy, whole tank'}: ${found}${own.all.falseAlarms} false alarms; ${ms.toFixed(0)} ms a window\n`,
  );
}
const result = summary(trials);
if (process.argv.includes('--json')) process.stdout.write(`${JSON.stringify(result)}\n`);
else {
  const hours = (ms: number | null): string =>
    ms === null ? '-' : ms < 2 * DAY_MS ? `${(ms / HOUR_MS).toFixed(2)} h` : `${(ms / DAY_MS).toFixed(1)} d`;
  process.stdout.write(`${'condition'.padEnd(58)} found      first     shown      likely     false\n`);
  for (const row of result.conditions)
    process.stdout.write(
      `${row.plant.padEnd(58)} ${`${row.found}/${row.windows}`.padEnd(9)} ${hours(row.medianDelayMs).padEnd(9)} ${hours(row.medianShownMs).padEnd(10)} ${hours(row.medianLikelyMs).padEnd(9)} ${row.falseAlarms}\n`,
    );
  const { healthy, all } = result;
  process.stdout.write(
    `healthy tanks: ${healthy.falseAlarms} false alarms (${healthy.likelyFalse} of them likely or certain) in ${healthy.tankYears.toFixed(1)} tank-years, ${healthy.perTankYear.toFixed(2)} a tank-year\n`,
  );
  process.stdout.write(
    `all windows: ${all.falseAlarms} false alarms in ${all.tankYears.toFixed(1)} tank-years, ${all.perTankYear.toFixed(2)} a tank-year\n`,
  );
}
