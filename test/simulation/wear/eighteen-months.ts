// The healthy demo tank's eighteen months with all of its noise, watched by everything that may alarm:
// `node test/simulation/wear/eighteen-months.ts [--seeds 5] [--from 3001] [--days 548] [--json]`.
// What is said of wear that the tank really has is listed apart, with the true share beside it.
import { createMonitor, type Finding } from '../../../src/condition/index.ts';
import { DAY_MS, type InstantMs } from '../../../src/units/index.ts';
import { EIGHTEEN_MONTHS_DAYS, eighteenMonths, type Life } from './life.ts';
import { createProtected, type Told } from './protected.ts';
import { demoSetup } from './trial.ts';
import { createWorld, WINDOW_START } from './world.ts';

export type Words = { readonly day: number; readonly what: string; readonly text: string };
export type Months = {
  readonly seed: number;
  readonly days: number;
  /** Of wear that is there, and by how much it really is worn. */
  readonly ofWear: readonly (Words & { readonly trueShare: number })[];
  readonly falseAlarms: readonly Words[];
};

/** What these age by over ninety days; and from which share on it may be told of, on the way to the limit. */
const AGES = [
  { kind: 'pump-fouling', equipment: 'return-pump', key: 'return_pump', per90: 0.04, from: 0.04 },
  { kind: 'lamp-fading', equipment: 'lamp-bank-1', key: 'lamp_bank_1', per90: 0.05, from: 0.1 },
  { kind: 'lamp-fading', equipment: 'lamp-bank-2', key: 'lamp_bank_2', per90: 0.05, from: 0.1 },
] as const;

const dayOf = (at: InstantMs): number => (at - WINDOW_START) / DAY_MS;

function trueShare({ kind, equipment, toldAt }: Finding, life: Life): number | null {
  const one = AGES.find((each) => each.kind === kind && each.equipment === equipment);
  if (one === undefined) return null;
  const share = (one.per90 * life.wornDays(one.key, dayOf(toldAt))) / 90;
  return share >= one.from ? share : null;
}

/** `from`: the day D it begins on, a Monday. */
export function runMonths(seed: number, days: number = EIGHTEEN_MONTHS_DAYS, from = 0): Months {
  const life = eighteenMonths(from);
  const world = createWorld({ seed, plant: null, days, life });
  const monitor = createMonitor(demoSetup());
  const watch = createProtected(world, WINDOW_START);
  const said: Finding[] = [];
  for (let day = 0; day < days; day += 1) {
    const batch = world.day(day);
    said.push(...monitor.take(batch));
    watch.day(batch);
  }
  const wordsOf = (one: Finding): Words => ({
    day: dayOf(one.toldAt),
    what: `${one.kind}, ${one.sure}`,
    text: one.evidence,
  });
  const toldWords = ({ at, by, text }: Told): Words => ({ day: dayOf(at), what: by, text });
  return {
    ...{ seed, days },
    ofWear: said.flatMap((one) => {
      const share = trueShare(one, life);
      return share === null ? [] : [{ ...wordsOf(one), trueShare: share }];
    }),
    falseAlarms: [...said.filter((one) => trueShare(one, life) === null).map(wordsOf), ...watch.told.map(toldWords)],
  };
}

function option(name: string, fallback: string): string {
  const at = process.argv.indexOf(`--${name}`);
  return at === -1 ? fallback : (process.argv[at + 1] ?? fallback);
}

function print(): void {
  const from = Number(option('from', '3001'));
  const days = Number(option('days', String(EIGHTEEN_MONTHS_DAYS)));
  const all = Array.from({ length: Number(option('seeds', '5')) }, (_, index) => runMonths(from + index, days));
  if (process.argv.includes('--json')) {
    process.stdout.write(`${JSON.stringify(all)}\n`);
    return;
  }
  for (const { seed, ofWear, falseAlarms } of all) {
    process.stdout.write(`seed ${seed}: ${falseAlarms.length} false alarms in ${days} days\n`);
    for (const { day, what, text } of falseAlarms)
      process.stdout.write(`   FALSE D${day.toFixed(2)} ${what}: ${text}\n`);
    for (const { day, what, text, trueShare: share } of ofWear)
      process.stdout.write(`   true  D${day.toFixed(0)} ${what}: ${text} (in truth ${(100 * share).toFixed(1)} %)\n`);
  }
}

if (import.meta.main) print();
