// The sump's level: what a stop of the return lifts it by, the line the float holds, water that comes by itself.
import { DAY_MS, type InstantMs, MINUTE_MS } from '../units/index.ts';
import type { Book } from './book.ts';
import type { Scene } from './scene.ts';
import { mannKendall, median, quantile, theilSen } from './stats/index.ts';
import { fig, signed } from './text.ts';
import type { ConditionSetup } from './types.ts';

/** Plain data. */
export type LevelMemory = {
  flowing: boolean | null;
  flowingSince: InstantMs;
  stop: { at: InstantMs; baseCm: number; mostCm: number; said: boolean } | null;
  /** Rises of the first stops after a service: what is usual. */
  rises: number[];
  samples: number[];
  days: { readonly day: number; readonly cm: number }[];
  line: number | null;
  highCm: number | null;
  /** Five-minute levels since the last run of the top-off, for water that comes by itself. */
  quiet: { readonly at: InstantMs; readonly cm: number }[];
};

export const newLevel = (): LevelMemory => ({
  ...{
    flowing: null,
    flowingSince: 0,
    stop: null,
    rises: [],
    samples: [],
    days: [],
    line: null,
    highCm: null,
    quiet: [],
  },
});

/** Rise over the learned one: a stop is given up, and the hole is due. (common practice, no source) */
const MORE_RISE = 0.2;
const SUSPECT_RISE = 0.12;
const LEARN_RISES = 4;
const LEAST_RISE_CM = 2;
const LONGEST_STOP_MS = 60 * MINUTE_MS;
const SETTLED_MS = 20 * MINUTE_MS;
/** The line may sink by this before the floats are due. (common practice, no source) */
const LINE_FALL_CM = 1;
const LEARN_DAYS = 6;
const KEPT_DAYS = 90;

export type Level = {
  /** A new reading of the level. */
  reading(at: InstantMs): void;
  /** Each minute: the return moves water or not (null: not known); the top-off runs or not. */
  minute(at: InstantMs, flows: boolean | null, toppingOff: boolean | null): void;
  endDay(day: number): void;
  relearn(what: 'hole' | 'line'): void;
};

type Inside = {
  readonly setup: ConditionSetup;
  readonly memory: LevelMemory;
  readonly scene: Scene;
  readonly book: Book;
  readonly topOff: string | undefined;
};

export function createLevel(inside: Inside): Level {
  const { memory, scene, book } = inside;
  return {
    reading(at) {
      if (memory.stop !== null) duringStop(inside, at);
    },
    minute(at, flows, toppingOff) {
      if (flows !== null && flows !== memory.flowing) {
        if (!flows && memory.flowing === true) beginStop(inside, at);
        if (flows && memory.stop !== null) endStop(inside, at);
        memory.flowing = flows;
        memory.flowingSince = at;
        memory.quiet = [];
      }
      if (memory.stop !== null && at - memory.stop.at > LONGEST_STOP_MS) memory.stop = null;
      const isSettled = memory.flowing === true && at - memory.flowingSince >= SETTLED_MS;
      if (!isSettled || (at / MINUTE_MS) % 5 !== 0) return;
      const cm = scene.levelBetween(at - 5 * MINUTE_MS, at);
      if (cm === null) return;
      memory.samples.push(cm);
      // Single readings may be bubbles: a level told of more seldom is not judged by the minute.
      if (toppingOff !== false || scene.levelCount(at - 5 * MINUTE_MS, at) < 3) memory.quiet = [];
      else alone(inside, at, cm);
    },
    endDay: (day) => endDay(inside, day),
    relearn(what) {
      if (what === 'hole') {
        memory.rises = [];
        book.clear('siphon-hole');
      } else {
        Object.assign(memory, { days: [], line: null, highCm: null });
        book.clear('float-growth', inside.topOff);
      }
    },
  };
}

function beginStop({ memory, scene }: Inside, at: InstantMs): void {
  const base = scene.levelBetween(at - 20 * MINUTE_MS, at - MINUTE_MS / 2);
  memory.stop = base === null ? null : { at, baseCm: base, mostCm: 0, said: false };
}

/** What stops so far lifted it by; before the first of them, what the configuration says. */
function usualRise({ setup, memory }: Inside): number | null {
  if (memory.rises.length > 0) return median(memory.rises);
  const { sump } = setup;
  return sump === null || sump.drainDownL === null ? null : sump.drainDownL / sump.litresPerCm;
}

function duringStop(inside: Inside, at: InstantMs): void {
  const { memory, scene, book, setup } = inside;
  const { stop } = memory;
  // The middle of seven readings: bubbles under the sensor lift single ones.
  const now = scene.levelNow(7);
  const usual = usualRise(inside);
  if (stop === null || now === null || at < stop.at + 35_000) return;
  stop.mostCm = Math.max(stop.mostCm, now - stop.baseCm);
  if (usual === null || usual < LEAST_RISE_CM) return;
  const more = stop.mostCm / usual - 1;
  if (more < SUSPECT_RISE) return;
  const litresPerCm = setup.sump?.litresPerCm ?? null;
  const litres = litresPerCm === null ? '' : `, some ${fig((stop.mostCm - usual) * litresPerCm, 0)} L more`;
  const evidence = `the stop of the return lifted the sump by ${fig(stop.mostCm)} cm, ${fig(usual)} cm are usual (${signed(more)}${litres}): the siphon-break hole may be blocked; let the return run and clear it`;
  const sure = more >= 0.35 ? 'certain' : more >= MORE_RISE ? 'likely' : 'suspected';
  stop.said = true;
  const fact = { value: stop.mostCm, normal: usual, unit: 'cm', evidence, ofLimit: more / MORE_RISE };
  book.say({ kind: 'siphon-hole', sure, since: stop.at, ...fact }, at);
}

function endStop({ memory, book }: Inside, at: InstantMs): void {
  const { stop } = memory;
  memory.stop = null;
  if (stop === null || stop.mostCm < LEAST_RISE_CM || at - stop.at < 3 * MINUTE_MS) return;
  if (stop.said) return;
  if (memory.rises.length < LEARN_RISES) memory.rises.push(stop.mostCm);
  book.clear('siphon-hole');
}

/** Water that comes while the top-off stands still: a siphon through its hose, or a leak into the sump. */
function alone({ memory, book, topOff }: Inside, at: InstantMs, cm: number): void {
  memory.quiet.push({ at, cm });
  if (memory.quiet.length > 24) memory.quiet.shift();
  if (memory.highCm === null || memory.quiet.length < 5) return;
  const over = cm - memory.highCm;
  const about = topOff === undefined ? {} : { equipment: topOff };
  if (over < 0.2) book.clear('siphon', topOff);
  const [first] = memory.quiet;
  const last = memory.quiet.slice(-5).map((one) => one.cm);
  const rose = (last.at(-1) ?? 0) - (last[0] ?? 0);
  // Bubbles lift a single level, never two of them that follow one another.
  const overBefore = (last.at(-2) ?? 0) - memory.highCm;
  if (first === undefined || over < 0.6 || overBefore < 0.2 || rose < 0.8) return;
  const line = theilSen(Array.from(last.keys()), last);
  // A keeper's bucket is a step that stays; a siphon goes on.
  const goesOn = [1, 2].every((back) => (last.at(-back) ?? 0) - (last.at(-back - 1) ?? 0) > 0.07);
  if (line === null || line.slope < 0.05 || !goesOn) return;
  const evidence = `the sump rises by itself: ${fig(over * 10, 0)} mm above its usual highest, ${fig(rose * 10, 0)} mm in the last 20 min, with the top-off still: a siphon through its hose, or water from elsewhere`;
  const sure = over >= 1.5 ? 'certain' : 'likely';
  const fact = { value: cm, normal: memory.highCm, unit: 'cm', evidence };
  book.say({ kind: 'siphon', ...about, sure, since: first.at, ...fact }, at);
}

function endDay(inside: Inside, day: number): void {
  const { memory } = inside;
  const { samples } = memory;
  memory.samples = [];
  if (samples.length < 20) return;
  memory.days.push({ day, cm: median(samples) });
  if (memory.days.length > KEPT_DAYS) memory.days.shift();
  if (memory.days.length === LEARN_DAYS) {
    memory.line = median(memory.days.map((one) => one.cm));
    memory.highCm = quantile(samples, 0.98);
  }
  if (memory.line !== null) lineFell(inside, memory.line, day);
}

/** Growth weighs on the float: the water has to stand lower before it asks, and what it holds sinks over the weeks. */
function lineFell({ memory, book, topOff }: Inside, line: number, day: number): void {
  const now = median(memory.days.slice(-5).map((one) => one.cm));
  const fell = line - now;
  if (topOff === undefined) return;
  const share = fell / LINE_FALL_CM;
  if (share < 0.2) book.clear('float-growth', topOff);
  const cms = memory.days.map((one) => one.cm);
  if (share < 0.35 || mannKendall(cms, { correction: 'hamed-rao' }).trend !== 'decreasing') return;
  const trend = theilSen(
    memory.days.map((one) => one.day),
    cms,
  );
  const perMonth = trend === null ? 0 : -trend.slope * 30 * 10;
  const evidence = `the water line that the low float holds sank by ${fig(fell * 10, 0)} mm, ${fig(perMonth)} mm a month: growth on the floats, clean them`;
  const sure = share >= 1 ? 'certain' : share >= 0.55 ? 'likely' : 'suspected';
  const fact = { value: now, normal: line, unit: 'cm', evidence, ofLimit: share };
  const since = (memory.days[0]?.day ?? day) * DAY_MS;
  book.say({ kind: 'float-growth', equipment: topOff, sure, since, ...fact }, (day + 1) * DAY_MS);
}
