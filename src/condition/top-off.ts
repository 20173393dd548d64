// The top-off's runs: how long, how often, with what effect. Floats that stick or grow over, a weak pump, an empty store.
import type { MinutePower } from '../observe/index.ts';
import { DAY_MS, type InstantMs, MINUTE_MS, SECOND_MS } from '../units/index.ts';
import type { Book } from './book.ts';
import { type DriftMemory, newDrift, takeDay } from './drift.ts';
import { createFloat, type FloatMemory, type LowFloat, newFloat } from './float.ts';
import type { Scene } from './scene.ts';
import { median } from './stats/index.ts';
import { fig, signed } from './text.ts';
import type { WatchedEquipment } from './types.ts';

/** Plain data. */
export type TopOffMemory = {
  /** Watts between runs, and in them. */
  quietW: number | null;
  runWs: number[];
  usualRunW: number;
  run: { from: InstantMs; seconds: number; maxW: number; minutes: number } | null;
  /** Of today: seconds of each run. */
  today: number[];
  todayPumpS: number;
  /** Of the last week: seconds of each run and when. */
  recent: { readonly at: InstantMs; readonly seconds: number }[];
  length: DriftMemory;
  perDay: DriftMemory;
  float: FloatMemory;
  dryRuns: number;
  lastRunAt: InstantMs;
};

export const newTopOff = (): TopOffMemory => ({
  ...{
    quietW: null,
    runWs: [],
    usualRunW: 0,
    run: null,
    today: [],
    todayPumpS: 0,
    recent: [],
    length: newDrift(),
    perDay: newDrift(),
  },
  ...{ float: newFloat(), dryRuns: 0, lastRunAt: 0 },
});

const KEPT_RUNS = 40;
const WEEK_MS = 7 * DAY_MS;
/** A run is long from three usual ones, and never below this. (common practice, no source) */
const LONG_RUNS = 3;
/** Without a float to ask, two lost reports may make a run look so long. */
const LONG_ALONE_S = 150;
/** Runs so much longer than learned speak of pump or floats. (common practice, no source) */
const LONGER = 0.4;

export type TopOff = {
  minute(minute: MinutePower): void;
  unknownMinute(): void;
  lowFloat(at: InstantMs, value: number | null): void;
  /** Each minute, while the float may be asking. */
  tick(at: InstantMs): void;
  endDay(day: number): void;
  relearn(): void;
};

type Inside = {
  readonly equipment: WatchedEquipment;
  readonly memory: TopOffMemory;
  readonly scene: Scene;
  readonly book: Book;
  /** The pump may run: its switch is on, or not known. */
  readonly inService: () => boolean;
  /** The tank knows its low float. */
  readonly hasFloat: boolean;
};

const learnedRunW = ({ memory, equipment }: Inside): number =>
  memory.runWs.length >= 5 ? median(memory.runWs) : (equipment.normalW ?? 8);
const usualRunW = ({ memory }: Inside): number => memory.usualRunW;

export function createTopOff(inside: Inside): TopOff {
  const { memory } = inside;
  memory.usualRunW = learnedRunW(inside);
  const float = createFloat({
    ...inside,
    memory: memory.float,
    usualW: () => usualRunW(inside),
    onMet: (seconds, at) => keepRun(memory, seconds, at),
  });
  return {
    minute(minute) {
      const ref = usualRunW(inside);
      const quiet = memory.quietW ?? Math.min(0.6, minute.meanW);
      const isRun = minute.maxW > Math.max(1.5, 0.35 * ref);
      if (!isRun) memory.quietW = quiet + 0.05 * (minute.meanW - quiet);
      const share = Math.max(
        0,
        Math.min(1, (minute.meanW - quiet) / Math.max(1, Math.max(minute.maxW, 0.5 * ref) - quiet)),
      );
      const seconds = isRun ? (share * minute.knownMs) / SECOND_MS : 0;
      if (isRun) {
        const { run } = memory;
        memory.lastRunAt = minute.minute;
        if (run === null) memory.run = { from: minute.minute, seconds, maxW: minute.maxW, minutes: 1 };
        else
          Object.assign(run, {
            seconds: run.seconds + seconds,
            maxW: Math.max(run.maxW, minute.maxW),
            minutes: run.minutes + 1,
          });
        float.pumped(minute.minute, seconds, minute.maxW);
        longRun(inside, minute.minute + MINUTE_MS);
      } else if (memory.run !== null) endRun(inside, minute.minute);
    },
    unknownMinute() {
      memory.run = null;
    },
    lowFloat: float.asks,
    tick: float.tick,
    endDay: (day) => endDay(inside, float, day),
    relearn() {
      Object.assign(memory, {
        ...newTopOff(),
        quietW: memory.quietW,
        runWs: memory.runWs,
        usualRunW: memory.usualRunW,
      });
      Object.assign(inside.memory.float, newFloat());
    },
  };
}

function endRun(inside: Inside, at: InstantMs): void {
  const { memory, book, equipment } = inside;
  const { run } = memory;
  memory.run = null;
  if (run === null) return;
  const ref = usualRunW(inside);
  const isDry = memory.runWs.length >= 5 && run.maxW < 0.75 * ref;
  if (isDry) {
    memory.dryRuns += 1;
    if (memory.dryRuns >= 2) sayDry(inside, run, ref, at);
    return;
  }
  memory.dryRuns = 0;
  book.clear('store-empty', equipment.id);
  if (run.seconds < 2) return;
  memory.runWs.push(run.maxW);
  if (memory.runWs.length > KEPT_RUNS) memory.runWs.shift();
  memory.usualRunW = learnedRunW(inside);
  if (!inside.hasFloat) keepRun(memory, run.seconds, at);
  memory.todayPumpS += run.seconds;
}

function sayDry(
  { memory, book, equipment }: Inside,
  run: { readonly from: InstantMs; readonly maxW: number },
  ref: number,
  at: InstantMs,
): void {
  const evidence = `${equipment.name}: its last ${memory.dryRuns} runs took ${fig(run.maxW)} W instead of ${fig(ref)} W: an empty store or a dry pump`;
  const fact = { value: run.maxW, normal: ref, unit: 'W', evidence, since: run.from };
  book.say(
    { kind: 'store-empty', equipment: equipment.id, sure: memory.dryRuns >= 4 ? 'certain' : 'likely', ...fact },
    at,
  );
}

function keepRun(memory: TopOffMemory, seconds: number, at: InstantMs): void {
  memory.today.push(seconds);
  memory.recent.push({ at, seconds });
  while (memory.recent[0] !== undefined && memory.recent[0].at < at - WEEK_MS) memory.recent.shift();
}

/** Without a float to ask: only what cannot be a lost report. */
function longRun(inside: Inside, at: InstantMs): void {
  const { memory, book, equipment, hasFloat } = inside;
  const { run, length } = memory;
  const usual = length.signature?.value;
  if (hasFloat || run === null || usual === undefined) return;
  if (run.seconds < Math.max(LONG_RUNS * usual, LONG_ALONE_S) || run.maxW < 0.75 * usualRunW(inside)) return;
  const evidence = `${equipment.name}: it runs for ${fig(run.seconds, 0)} s, ${fig(usual, 0)} s are usual: a float that sticks`;
  const fact = { value: run.seconds, normal: usual, unit: 's', evidence };
  book.say({ kind: 'sticky-float', equipment: equipment.id, sure: 'likely', since: run.from, ...fact }, at);
}

function endDay(inside: Inside, float: LowFloat, day: number): void {
  const { memory } = inside;
  const { today, todayPumpS } = memory;
  memory.today = [];
  memory.todayPumpS = 0;
  if (today.length < 4) return;
  const usual = median(today);
  const options = { learnDays: 6, leastSd: 0.03, lambda: 0.3, cusumLimit: 6 };
  const length = takeDay(memory.length, { day, value: usual, spread: 0 }, options);
  const pumped = todayPumpS > 0 ? todayPumpS : today.reduce((sum, one) => sum + one, 0);
  const perDay = takeDay(memory.perDay, { day, value: pumped, spread: 0 }, { ...options, leastSd: 0.08 });
  if (length === null || perDay === null) return;
  judgeLength(
    inside,
    {
      rel: length.rel,
      signalled: length.signalled,
      since: length.since,
      pumpedRel: perDay.rel,
      riseRatio: float.riseRatio(),
    },
    day,
  );
  judgeTail(inside, length.signature.value, day);
}

type Length = {
  readonly rel: number;
  readonly signalled: boolean;
  readonly since: InstantMs;
  readonly pumpedRel: number;
  readonly riseRatio: number | null;
};

/** Longer runs that pump as much in all are fewer: the float holds a wider band. As many longer ones: the pump is weak. */
function judgeLength(
  { memory, book, equipment }: Inside,
  { rel, signalled, since, pumpedRel, riseRatio }: Length,
  day: number,
): void {
  const at = (day + 1) * DAY_MS;
  const usual = memory.length.signature?.value ?? 0;
  const now = memory.length.level ?? usual;
  const { id, name } = equipment;
  const share = rel / LONGER;
  if (share < 0.3)
    for (const kind of ['top-off-weak', 'sticky-float'] as const)
      if (book.open(kind, id)?.unit === 's a run') book.clear(kind, id);
  if (!signalled || share < 0.6) return;
  // What a run lifts the level by tells the one from the other; without a level sensor the seconds a day do.
  const isWeak = riseRatio === null ? pumpedRel > 0.5 * rel : riseRatio - 1 < 0.3 * rel;
  // Neither one nor the other yet.
  if (riseRatio !== null && !isWeak && riseRatio - 1 < 0.6 * rel) return;
  const told = `${name}: a run takes ${fig(now, 0)} s, ${fig(usual, 0)} s when it was learned (${signed(rel)})`;
  const sure = share >= 1 ? 'certain' : share >= 0.8 ? 'likely' : 'suspected';
  const fact = { value: now, normal: usual, unit: 's a run', ofLimit: share, since };
  if (isWeak) {
    const evidence = `${told}, and as often as before: the pump gives less, or its way is narrower`;
    book.say({ kind: 'top-off-weak', equipment: id, sure, ...fact, evidence }, at);
  } else
    book.say(
      { kind: 'sticky-float', equipment: id, sure, ...fact, evidence: `${told}, and less often: the float moves late` },
      at,
    );
}

/** A tail of long runs in a week, or many that stop at once. */
function judgeTail({ memory, book, equipment, hasFloat }: Inside, usual: number, day: number): void {
  const at = (day + 1) * DAY_MS;
  const week = memory.recent;
  const long = week.filter((run) => run.seconds > 1.7 * usual).length;
  const least = hasFloat ? 5 : 8;
  const short = week.filter((run) => run.seconds < 0.4 * usual && run.at > at - 2 * DAY_MS).length;
  const isTail = long >= least && long >= 0.05 * week.length;
  if (!isTail && short < 8) {
    if (long === 0 && book.open('sticky-float', equipment.id)?.unit === 'runs')
      book.clear('sticky-float', equipment.id);
    return;
  }
  const what = isTail
    ? `${long} of ${week.length} runs of the last week were more than 1.7 times as long as usual`
    : `${short} runs of the last two days stopped at once`;
  const sure = isTail ? (long >= 0.15 * week.length ? 'certain' : 'likely') : 'likely';
  const evidence = `${equipment.name}: ${what} (${fig(usual, 0)} s): a float that sticks or chatters`;
  const fact = { value: isTail ? long : short, normal: 0, unit: 'runs', evidence, since: at - WEEK_MS };
  book.say({ kind: 'sticky-float', equipment: equipment.id, sure, ...fact }, at);
}
