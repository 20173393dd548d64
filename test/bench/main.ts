// Speed and memory, as figures and as ratios to a named reference run in the same process. Not a test: nothing fails here.
// `--json` for programs; `--only count,columnar,service,store,condition,forecast,backfill` for some of it.
import { cpus } from 'node:os';
import { benchBackfill } from './backfill.ts';
import { benchColumnar } from './columnar.ts';
import { benchCondition } from './condition.ts';
import { benchCount } from './count.ts';
import { benchForecast } from './forecast.ts';
import { benchService } from './service.ts';
import { benchStore } from './store.ts';

type Figures = Readonly<Record<string, number | string>>;

const PARTS: Readonly<Record<string, () => Promise<Figures>>> = {
  count: async () => {
    const { rows, observationsPerS, sqliteWindowObservationsPerS, ratio } = benchCount(1_000_000);
    return {
      countRows: rows,
      countObservationsPerS: observationsPerS,
      sqliteWindowObservationsPerS,
      countRatio: ratio,
    };
  },
  columnar: async () => {
    const { rows, ...rest } = await benchColumnar();
    return { columnarRows: rows, ...rest };
  },
  service: async () => ({ ...(await benchService()) }),
  store: async () => ({ ...benchStore() }),
  condition: async () => named('condition', benchCondition()),
  forecast: async () => ({ ...(await benchForecast()) }),
  // A year of twenty entities from a real hub: takes about a minute.
  backfill: async () => ({ ...(await benchBackfill()) }),
};

/** Names of their own, since every part's figures end up in one object. */
const named = (part: string, figures: Figures): Figures =>
  Object.fromEntries(
    Object.entries(figures).map(([name, value]) => [part + name[0]?.toUpperCase() + name.slice(1), value]),
  );

const only = process.argv.find((word) => word.startsWith('--only='))?.slice('--only='.length);
const at = process.argv.indexOf('--only');
const wanted = (only ?? (at === -1 ? undefined : process.argv[at + 1]) ?? Object.keys(PARTS).join(',')).split(',');

const figures: Record<string, number | string> = { node: process.versions.node, cpus: cpus().length };
for (const name of wanted) {
  const part = PARTS[name];
  if (part === undefined)
    throw new Error(`no measurement is called ${name}; there is: ${Object.keys(PARTS).join(', ')}`);
  process.stderr.write(`measuring ${name}\n`);
  for (const [field, value] of Object.entries(await part()))
    figures[field] = typeof value === 'number' ? Number(value.toPrecision(4)) : value;
}
if (process.argv.includes('--json')) process.stdout.write(`${JSON.stringify(figures)}\n`);
else for (const [name, value] of Object.entries(figures)) process.stdout.write(`${name.padEnd(36)} ${value}\n`);
process.exit(0);
