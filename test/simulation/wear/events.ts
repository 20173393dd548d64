// Events of the demo tank's first eighteen months that are conditions of its equipment, on their days, and what is said of
// each and when: `node test/simulation/wear/events.ts [--json]`. Days are the tank's own: D0 is a Monday in early September.
import { pathToFileURL } from 'node:url';
import type { FindingKind, Sure } from '../../../src/condition/index.ts';
import { DAY_MS, type InstantMs, MINUTE_MS } from '../../../src/units/index.ts';
import { PLANTS, type Plant } from './plants.ts';
import { runTrial } from './trial.ts';
import { WINDOW_START } from './world.ts';

export type TankEvent = {
  readonly number: number;
  readonly what: string;
  readonly day: number;
  /** Minutes after midnight. */
  readonly minute: number;
  readonly plant: Plant;
  /** Days from its beginning until it must have been said. */
  readonly within: number;
};

/** D136 is mid-January. */
const DEEP_WINTER_DAY = 136;
/** Days before the event, to learn what is usual. */
const LEAD_DAYS = 42;
const AFTER_DAYS = 6;
const SEED = 1;

function plantNamed(name: string): Plant {
  const found = PLANTS.find((plant) => plant.name.startsWith(name));
  if (found === undefined) throw new Error(`no condition is called ${name}`);
  return found;
}

const scaled = plantNamed('circulation pump scales up');
const BREAKTHROUGH = [0, 0, 1, 1, 2, 4, 7, 9, 11];

export const EVENTS: readonly TankEvent[] = [
  { number: 1, what: 'tube 2 of lamp bank 1 dies', day: 36, minute: 605, plant: plantNamed('one tube'), within: 0.1 },
  {
    ...{
      number: 2,
      what: 'circulation left scales up for 36 days, and does not turn after the pause',
      day: 62,
      minute: 0,
    },
    plant: {
      ...scaled,
      apply(truth, days) {
        scaled.apply(truth, days);
        truth.circulation.still = days > 36 + 685 / 1_440;
      },
      expected: [...scaled.expected, { kind: 'pump-not-turning', equipment: 'circulation-left' }],
    },
    within: 26,
  },
  {
    number: 3,
    what: 'snail on the low float',
    day: 113,
    minute: 540,
    plant: plantNamed('low float jams'),
    within: 0.2,
  },
  {
    ...{ number: 4, what: 'resin breaks through', day: 133, minute: 0 },
    plant: {
      ...plantNamed('resin breaks'),
      apply: (truth, days) => (truth.productMgPerL = BREAKTHROUGH[Math.min(8, Math.floor(days))] ?? 0),
    },
    within: 4,
  },
  { number: 8, what: 'relay of heater 2 welds', day: 231, minute: 200, plant: plantNamed('plug relay'), within: 1 },
  {
    number: 9,
    what: 'RO valve leaks after the Thursday window',
    day: 269,
    minute: 0,
    plant: plantNamed('RO valve'),
    within: 0.5,
  },
  {
    ...{ number: 10, what: 'one fan dead in the heat spell', day: 317, minute: 720 },
    plant: {
      ...plantNamed('one of two fans'),
      apply(truth) {
        truth.fan = 6.1 / 12;
        truth.heatSpell = true;
      },
    },
    within: 0.2,
  },
  {
    ...{ number: 11, what: 'siphon-break hole blocked at the Monday pause', day: 350, minute: 600 },
    plant: { ...plantNamed('siphon-break hole blocked'), apply: (truth) => (truth.rise = 2.26) },
    within: 0.1,
  },
  {
    number: 12,
    what: 'display probe drifts −0.07 °C a day',
    day: 401,
    minute: 0,
    plant: plantNamed('display probe drifts'),
    within: 10,
  },
];

export type Word = {
  readonly kind: FindingKind;
  readonly sure: Sure;
  readonly day: number;
  readonly minute: number;
  readonly afterMs: number;
  /** From when it showed itself. */
  readonly shownMs: number;
  readonly evidence: string;
};

export function eventWords(event: TankEvent): readonly Word[] {
  const firstDay = event.day - LEAD_DAYS - (event.day % 7);
  const onsetDays = event.day - firstDay + event.minute / 1_440;
  const days = Math.ceil(onsetDays + Math.max(event.within, event.number === 2 ? 37 : 0) + AFTER_DAYS);
  const trial = runTrial(SEED, event.plant, { days, fixed: { season: firstDay - DEEP_WINTER_DAY, onsetDays } });
  const onset: InstantMs = trial.onset ?? 0;
  return trial.said
    .filter((one) => one.heardAt >= onset)
    .map(({ kind, sure, heardAt, since, evidence }) => {
      const ofTank = heardAt - WINDOW_START;
      const day = Math.floor(ofTank / DAY_MS);
      const minute = Math.round((ofTank - day * DAY_MS) / MINUTE_MS);
      const shownMs = heardAt - Math.max(since, onset);
      return { kind, sure, day: firstDay + day, minute, afterMs: heardAt - onset, shownMs, evidence };
    });
}

const clock = (minute: number): string =>
  `${String(Math.floor(minute / 60)).padStart(2, '0')}:${String(minute % 60).padStart(2, '0')}`;

function print(): void {
  const told = EVENTS.map((event) => ({ event, words: eventWords(event) }));
  if (process.argv.includes('--json')) {
    const rows = told.map(({ event: { number, what, day, minute }, words }) => ({ number, what, day, minute, words }));
    process.stdout.write(`${JSON.stringify(rows)}\n`);
    return;
  }
  for (const { event, words } of told) {
    process.stdout.write(`${event.number}. D${event.day} ${clock(event.minute)} ${event.what}\n`);
    for (const { day, minute, kind, sure, evidence } of words)
      process.stdout.write(`   D${day} ${clock(minute)} ${kind}, ${sure}: ${evidence}\n`);
  }
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) print();
