// Light of one lamp bank by the lux that come and go with it: other lamps and the day cancel out of the step.
import type { MinutePower } from '../observe/index.ts';
import { DAY_MS, HOUR_MS, type InstantMs, MINUTE_MS } from '../units/index.ts';
import type { Book } from './book.ts';
import { type DriftMemory, newDrift, takeDay } from './drift.ts';
import type { Scene } from './scene.ts';
import { mannKendall, median, theilSen } from './stats/index.ts';
import { fig, percent } from './text.ts';
import type { WatchedEquipment } from './types.ts';

type Edge = { readonly at: InstantMs; readonly on: boolean };

/** Plain data. */
export type LightMemory = {
  watts: number | null;
  /** Edges whose after-side has not passed yet. */
  pending: Edge[];
  steps: number[];
  litMs: number;
  /** Hours lit by then and lux of a day. */
  points: { readonly hours: number; readonly lux: number }[];
  drift: DriftMemory;
};

export const newLight = (): LightMemory => ({
  watts: null,
  pending: [],
  steps: [],
  litMs: 0,
  points: [],
  drift: newDrift(),
});

/** Lux 25 % down: due. (common practice, no source) */
const FADED = 0.25;
const SIDE_MS = 35 * MINUTE_MS;
const NEAR_MS = 3 * MINUTE_MS;
const WARM_MS = 15 * MINUTE_MS;
const LEARN_DAYS = 7;
const KEPT_POINTS = 90;

export type Light = {
  minute(minute: MinutePower, usualW: number | null): void;
  /** Another lamp changed: edges near it say nothing. */
  disturbed(at: InstantMs): void;
  endDay(day: number, usualW: number | null): void;
  relearn(): void;
};

type Inside = {
  readonly equipment: WatchedEquipment;
  readonly memory: LightMemory;
  readonly scene: Scene;
  readonly book: Book;
  /** Called at each edge of this lamp. */
  readonly onEdge: (at: InstantMs) => void;
};

export function createLight({ equipment, memory, scene, book, onEdge }: Inside): Light {
  const measure = ({ at, on }: Edge): void => {
    const [from, to] = on ? [at + WARM_MS, at + WARM_MS + SIDE_MS] : [at + NEAR_MS, at + SIDE_MS];
    const dark = on ? scene.luxBetween(at - SIDE_MS, at - NEAR_MS) : scene.luxBetween(from, to);
    const lit = on ? scene.luxBetween(from, to) : scene.luxBetween(at - SIDE_MS, at - NEAR_MS);
    if (dark !== null && lit !== null && lit > dark) memory.steps.push(lit - dark);
  };
  return {
    minute(minute, usualW) {
      const before = memory.watts;
      memory.watts = minute.meanW;
      const onAbove = 0.3 * (usualW ?? 20);
      const isOn = minute.meanW > onAbove;
      if (isOn) memory.litMs += MINUTE_MS;
      if (before !== null && before > onAbove !== isOn) {
        memory.pending.push({ at: minute.minute, on: isOn });
        onEdge(minute.minute);
      }
      const first = memory.pending[0];
      if (first === undefined || minute.minute < first.at + (first.on ? WARM_MS : 0) + SIDE_MS) return;
      memory.pending.shift();
      measure(first);
    },
    disturbed(at) {
      memory.pending = memory.pending.filter((edge) => Math.abs(edge.at - at) > SIDE_MS + (edge.on ? WARM_MS : 0));
    },
    endDay(day, usualW) {
      const { steps } = memory;
      memory.steps = [];
      if (steps.length === 0 || book.open('dead-lamp', equipment.id) !== undefined) return;
      const lux = median(steps);
      memory.points.push({ hours: memory.litMs / HOUR_MS, lux });
      if (memory.points.length > KEPT_POINTS) memory.points.shift();
      const options = { learnDays: LEARN_DAYS, leastSd: 0.015, lambda: 0.2, cusumLimit: 6 };
      const drifted = takeDay(memory.drift, { day, value: lux, spread: 0 }, options);
      if (drifted !== null && usualW !== null) judge({ equipment, memory, book }, drifted, (day + 1) * DAY_MS);
    },
    relearn() {
      Object.assign(memory, { ...newLight(), watts: memory.watts });
    },
  };
}

function judge(
  { equipment, memory, book }: Pick<Inside, 'equipment' | 'memory' | 'book'>,
  {
    rel,
    level,
    signature,
    signalled,
    since,
  }: { rel: number; level: number; signature: { value: number }; signalled: boolean; since: InstantMs },
  at: InstantMs,
): void {
  const { id, name } = equipment;
  const faded = -rel;
  const lux = memory.points.map((point) => point.lux);
  const falls = signalled && mannKendall(lux).trend === 'decreasing';
  const share = faded / FADED;
  if (share < 0.3) book.clear('lamp-fading', id);
  if (!falls || share < 0.45) return;
  const line = theilSen(
    memory.points.map((point) => point.hours),
    lux,
  );
  const per100 = line === null ? 0 : (-line.slope * 100) / signature.value;
  const evidence = `${name}: its light is ${percent(faded)} down, from ${fig(signature.value, 0)} to ${fig(level, 0)} lux for the same watts, ${percent(per100)} in 100 h lit`;
  const sure = share >= 1 ? 'certain' : share >= 0.65 ? 'likely' : 'suspected';
  const fact = { value: faded, normal: 0, unit: 'share of light', evidence, ofLimit: share };
  book.say({ kind: 'lamp-fading', equipment: id, sure, since, ...fact }, at);
}
