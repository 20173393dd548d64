// The top-off's runs: how long, how often, with what effect. Floats that stick or grow over, a weak pump, an empty store.
import type { MinutePower } from '../observe/index.ts';
import { DAY_MS, type InstantMs, MINUTE_MS, SECOND_MS } from '../units/index.ts';
import type { Book } from './book.ts';
import { type DriftMemory, newDrift, takeDay } from './drift.ts';
import type { Scene } from './scene.ts';
import { median } from './stats/index.ts';
import { fig, signed } from './text.ts';
import type { WatchedEquipment } from './types.ts';

/** Plain data. */
export type TopOffMemory = {
  /** Watts between runs, and in them. */
  quietW: number | null;
  runWs: number[];
  run: { from: InstantMs; seconds: number; maxW: number; minutes: number } | null;
  /** Of today: seconds of each run. */
  today: number[];
  todayPumpS: number;
  /** Of the last week: seconds of each run and when. */
  recent: { readonly at: InstantMs; readonly seconds: number }[];
  length: DriftMemory;
  perDay: DriftMemory;
  /** The low float asks since then; level when it began; seconds pumped since. */
  demand: { since: InstantMs; levelCm: number | null; pumpedS: number; sticks: boolean } | null;
  demands: number[];
  levelAfterCm: number[];
  dryRuns: number;
  lastRunAt: InstantMs;
};

export const newTopOff = (): TopOffMemory => ({
  ...{
    quietW: null,
    runWs: [],
    run: null,
    today: [],
    todayPumpS: 0,
    recent: [],
    length: newDrift(),
    perDay: newDrift(),
  },
  ...{ demand: null, demands: [], levelAfterCm: [], dryRuns: 0, lastRunAt: 0 },
});

const KEPT_RUNS = 40;
const LEARNED_RUNS = 12;
const WEEK_MS = 7 * DAY_MS;
/** A run is long from three usual ones, and never below this. (common practice, no source) */
const LONG_RUNS = 3;
const LONG_S = 90;
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

const usualRunW = ({ memory, equipment }: Inside): number =>
  memory.runWs.length >= 5 ? median(memory.runWs) : (equipment.normalW ?? 8);

export function createTopOff(inside: Inside): TopOff {
  const { memory, scene } = inside;
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
        const { run, demand } = memory;
        // A pump that begins again in one demand is judged by what this run does.
        if (run === null && demand !== null && minute.minute - memory.lastRunAt > 10 * MINUTE_MS)
          Object.assign(demand, {
            levelCm: scene.levelBetween(minute.minute - 6 * MINUTE_MS, minute.minute),
            pumpedS: 0,
          });
        memory.lastRunAt = minute.minute;
        if (run === null) memory.run = { from: minute.minute, seconds, maxW: minute.maxW, minutes: 1 };
        else
          Object.assign(run, {
            seconds: run.seconds + seconds,
            maxW: Math.max(run.maxW, minute.maxW),
            minutes: run.minutes + 1,
          });
        if (memory.demand !== null) memory.demand.pumpedS += seconds;
        longRun(inside, minute.minute + MINUTE_MS);
      } else if (memory.run !== null) endRun(inside, minute.minute);
    },
    unknownMinute() {
      memory.run = null;
    },
    lowFloat(at, value) {
      if (value === null) {
        memory.demand = null;
        return;
      }
      const asks = value > 0;
      if (asks && memory.demand === null)
        memory.demand = { since: at, levelCm: scene.levelNow(5), pumpedS: 0, sticks: false };
      if (!asks && memory.demand !== null) endDemand(inside, at);
    },
    tick: (at) => watchDemand(inside, at),
    endDay: (day) => endDay(inside, day),
    relearn() {
      Object.assign(memory, { ...newTopOff(), quietW: memory.quietW, runWs: memory.runWs, demand: memory.demand });
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
    if (memory.dryRuns >= 2) sayEmpty(inside, run.maxW, ref, memory.dryRuns >= 4 ? 'certain' : 'likely', run.from, at);
    return;
  }
  memory.dryRuns = 0;
  book.clear('store-empty', equipment.id);
  if (run.seconds < 2) return;
  memory.runWs.push(run.maxW);
  if (memory.runWs.length > KEPT_RUNS) memory.runWs.shift();
  if (!inside.hasFloat) keepRun(memory, run.seconds, at);
  memory.todayPumpS += run.seconds;
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

function endDemand(inside: Inside, at: InstantMs): void {
  const { memory, scene, book, equipment } = inside;
  const { demand } = memory;
  memory.demand = null;
  if (demand === null) return;
  const seconds = (at - demand.since) / SECOND_MS;
  const usual = memory.demands.length >= LEARNED_RUNS ? median(memory.demands) : null;
  const isUsual = usual === null || seconds < 2 * usual;
  // A float that asks while the pump is out of service is no run.
  if (inside.inService() && seconds >= 2) {
    keepRun(memory, seconds, at);
    if (isUsual) {
      memory.demands.push(seconds);
      if (memory.demands.length > KEPT_RUNS) memory.demands.shift();
      const level = scene.levelNow(5);
      if (level !== null) memory.levelAfterCm.push(level);
      if (memory.levelAfterCm.length > KEPT_RUNS) memory.levelAfterCm.shift();
    }
  }
  if (isUsual && book.open('sticky-float', equipment.id)?.unit === 's') book.clear('sticky-float', equipment.id);
}

/** The float asks far longer than usual although water was pumped: it sticks, or no water comes. */
function watchDemand(inside: Inside, at: InstantMs): void {
  const { memory, scene, book, equipment } = inside;
  const { demand, demands } = memory;
  if (demand === null || demands.length < LEARNED_RUNS || at - memory.lastRunAt > 6 * MINUTE_MS) return;
  const usual = median(demands);
  const asked = (at - demand.since) / SECOND_MS;
  if (asked < Math.max(LONG_RUNS * usual, LONG_S) || demand.pumpedS < 1.8 * usual) return;
  const level = scene.levelNow(5);
  const rise = level === null || demand.levelCm === null ? null : level - demand.levelCm;
  const after = memory.levelAfterCm.length >= 5 ? median(memory.levelAfterCm) : null;
  const ref = usualRunW(inside);
  const runW = memory.run?.maxW ?? null;
  const isHigh = level !== null && after !== null && level > after + 0.3;
  const noRise = rise !== null && rise < 0.12 && demand.pumpedS > 2.5 * usual;
  if (!isHigh && !demand.sticks && (noRise || (runW !== null && runW < 0.75 * ref))) {
    const low = scene.value('store-low-float');
    const sure = low === 1 || (runW !== null && runW < 0.75 * ref) ? 'certain' : 'likely';
    sayEmpty(inside, runW ?? 0, ref, sure, demand.since, at);
    return;
  }
  const stands =
    level === null || rise === null
      ? ''
      : `, and the sump stands ${fig(rise * 10, 0)} mm higher than when it began to ask`;
  const evidence = `${equipment.name}: the low float asks for ${fig(asked, 0)} s, ${fig(usual, 0)} s are usual${stands}: it sticks`;
  const fact = { value: asked, normal: usual, unit: 's', evidence };
  book.say(
    {
      kind: 'sticky-float',
      equipment: equipment.id,
      sure: isHigh ? 'certain' : 'likely',
      since: demand.since,
      ...fact,
    },
    at,
  );
}

function sayEmpty(
  { book, equipment, scene }: Inside,
  runW: number,
  ref: number,
  sure: 'likely' | 'certain',
  since: InstantMs,
  at: InstantMs,
): void {
  const low = scene.value('store-low-float') === 1 ? '; the store reports low' : '';
  const watts = runW > 0 && runW < 0.75 * ref ? `${fig(runW)} W instead of ${fig(ref)} W` : 'the level does not rise';
  const evidence = `${equipment.name}: it runs without water: ${watts}${low}: an empty store or a dry pump`;
  book.say(
    { kind: 'store-empty', equipment: equipment.id, sure, since, value: runW, normal: ref, unit: 'W', evidence },
    at,
  );
}

function endDay(inside: Inside, day: number): void {
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
    { rel: length.rel, signalled: length.signalled, since: length.since, pumpedRel: perDay.rel },
    day,
  );
  judgeTail(inside, length.signature.value, day);
}

type Length = {
  readonly rel: number;
  readonly signalled: boolean;
  readonly since: InstantMs;
  readonly pumpedRel: number;
};

/** Longer runs that pump as much in all are fewer: the float holds a wider band. As many longer ones: the pump is weak. */
function judgeLength(
  { memory, book, equipment }: Inside,
  { rel, signalled, since, pumpedRel }: Length,
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
  const isWeak = pumpedRel > 0.5 * rel;
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
