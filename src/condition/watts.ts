// What the watts of one plug say by the minute, and what of each day its signature is learned from.
import type { RoleId } from '../model/index.ts';
import type { MinutePower } from '../observe/index.ts';
import { DAY_MS, type InstantMs, MINUTE_MS, SECOND_MS } from '../units/index.ts';
import type { Book } from './book.ts';
import { type Drifted, type DriftMemory, newDrift, takeDay } from './drift.ts';
import type { Scene } from './scene.ts';
import { median, spreadOf } from './stats/index.ts';
import { fig, numberWord, percent } from './text.ts';
import type { WatchedEquipment } from './types.ts';

/** Plain data. */
export type WattsMemory = {
  /** The plug's switch as last seen, and since when. */
  switchOn: boolean | null;
  switchSince: InstantMs;
  /** It drew when it was last switched off: what comes then proves the relay. */
  drewAtOff: boolean;
  day: number;
  samples: number[];
  drift: DriftMemory;
  /** Minutes in a row, by what they show. */
  inRow: Record<string, number>;
  rowFrom: Record<string, InstantMs>;
};

export const newWatts = (): WattsMemory => ({
  switchOn: null,
  switchSince: 0,
  drewAtOff: false,
  day: -1,
  samples: [],
  drift: newDrift(),
  inRow: {},
  rowFrom: {},
});

export const PUMPS: readonly RoleId[] = [
  ...(['return-pump', 'circulation-pump', 'skimmer', 'media-reactor', 'algae-reactor', 'mixing-pump'] as const),
];
const LAMPS: readonly RoleId[] = ['fluorescent-bank', 'uv-unit', 'algae-lamp'];
/** Their watts follow a programme or come in short bursts: no steady watts to learn. */
const UNSTEADY: readonly RoleId[] = ['led-lamp', 'dosing-pump', 'feeder', 'top-off'];
const SETTLE_MIN: Readonly<Partial<Record<RoleId, number>>> = { 'fluorescent-bank': 10, heater: 1, fan: 2 };
const DEFAULT_SETTLE_MIN = 4;
/** A minute of which less is known says nothing. */
const KNOWN_MS = 45 * SECOND_MS;
const SAMPLE_EVERY = 5;
const LEAST_SAMPLES = 6;

export type Watts = {
  readonly memory: WattsMemory;
  switched(at: InstantMs, value: number | null): void;
  minute(minute: MinutePower): void;
  unknownMinute(): void;
  /** Ends the day; gives its drift where one can be told. */
  endDay(day: number): Drifted | null;
  /** Usual watts, as far as they are known. */
  usualW(): number | null;
  relearn(): void;
};

type Inside = {
  readonly equipment: WatchedEquipment;
  readonly memory: WattsMemory;
  readonly book: Book;
  readonly scene: Scene;
};

export function createWatts(inside: Inside): Watts {
  const { equipment, memory, scene } = inside;
  const settleMs = (SETTLE_MIN[equipment.role] ?? DEFAULT_SETTLE_MIN) * MINUTE_MS;
  const isSteady = !UNSTEADY.includes(equipment.role);
  const drawn = scene.memory.drawing[equipment.id] ?? { on: null, since: 0 };
  scene.memory.drawing[equipment.id] = drawn;
  const learnedW = (): number | null => {
    const { signature, days } = memory.drift;
    if (signature !== null) return signature.value;
    return days.length > 0 ? median(days.map((one) => one.value)) : equipment.normalW;
  };
  // Changes once a day at most, and is asked every minute.
  let usual = learnedW();
  const usualW = (): number | null => usual;
  const see = (minute: MinutePower): boolean => {
    const on = minute.meanW > Math.max(1.5, 0.15 * (usualW() ?? 10));
    if (on !== drawn.on) {
      drawn.on = on;
      drawn.since = minute.minute;
    }
    return on;
  };
  return {
    memory,
    usualW,
    switched(at, value) {
      const on = value === null ? null : value > 0;
      if (on === memory.switchOn) return;
      memory.switchOn = on;
      memory.switchSince = at;
      if (on === false) memory.drewAtOff = drawn.on === true;
      memory.inRow = {};
    },
    minute(minute) {
      if (minute.knownMs < KNOWN_MS) {
        forgetRows(memory);
        return;
      }
      const on = see(minute);
      const ref = usualW();
      if (ref !== null) judgeMinute(inside, minute, ref, minute.minute - drawn.since, settleMs);
      // A pump that stands still draws a little; that is no wear.
      const settled = on && minute.minute - drawn.since >= settleMs && minute.meanW > 0.25 * (ref ?? 0);
      if (settled && isSteady && (minute.minute / MINUTE_MS) % SAMPLE_EVERY === 0) memory.samples.push(minute.meanW);
    },
    unknownMinute() {
      forgetRows(memory);
      drawn.on = null;
    },
    endDay(day) {
      const { samples } = memory;
      memory.samples = [];
      if (samples.length < LEAST_SAMPLES) return null;
      const { median: value, sd } = spreadOf(samples);
      const drifted = takeDay(memory.drift, { day, value, spread: sd });
      usual = learnedW();
      return drifted;
    },
    relearn() {
      memory.drift = newDrift();
      usual = learnedW();
      memory.samples = [];
      memory.inRow = {};
    },
  };
}

function forgetRows(memory: WattsMemory): void {
  for (const what of Object.keys(memory.inRow)) memory.inRow[what] = 0;
}

/** Counts minutes in a row; `from` is when the row began. */
function row(memory: WattsMemory, what: string, holds: boolean, at: InstantMs): number {
  if (!holds) {
    memory.inRow[what] = 0;
    return 0;
  }
  const count = (memory.inRow[what] ?? 0) + 1;
  if (count === 1) memory.rowFrom[what] = at;
  memory.inRow[what] = count;
  return count;
}

function judgeMinute(inside: Inside, minute: MinutePower, ref: number, drawnForMs: number, settleMs: number): void {
  const { equipment, memory } = inside;
  const { switchOn, switchSince } = memory;
  const onFor = switchOn === false ? -1 : switchOn === null ? DAY_MS : minute.minute - switchSince;
  relay(inside, minute, ref);
  if (PUMPS.includes(equipment.role)) {
    notTurning(inside, minute, ref, onFor);
    dry(inside, minute, ref, onFor);
  } else if (equipment.role !== 'heater' && !UNSTEADY.includes(equipment.role)) noDraw(inside, minute, ref, onFor);
  const isSet = LAMPS.includes(equipment.role) || equipment.role === 'fan';
  if (isSet && memory.drift.days.length > 0) pieceOut(inside, minute, ref, drawnForMs >= settleMs);
}

/** Off by its switch, and watts stay: two whole minutes that began a minute or more after the command. */
function relay({ equipment, memory, book }: Inside, minute: MinutePower, ref: number): void {
  const { switchOn, switchSince } = memory;
  if (equipment.switch === null) return;
  const isOff = switchOn === false && minute.minute >= switchSince + MINUTE_MS;
  const stays = isOff && minute.minW > Math.max(4, 0.3 * ref);
  const count = row(memory, 'welded', stays, minute.minute);
  const at = minute.minute + MINUTE_MS;
  // A heater at its own stop draws nothing behind a welded relay: only a fall at the command clears it.
  const fell = isOff && memory.drewAtOff && minute.minute < switchSince + 3 * MINUTE_MS;
  if (fell && minute.maxW < Math.max(2, 0.1 * ref)) book.clear('welded-relay', equipment.id);
  if (count < 2) return;
  const { id, name } = equipment;
  const told = `${name}: reported off, and still draws ${fig(minute.meanW)} W ${fig((at - switchSince) / MINUTE_MS, 0)} min later`;
  const evidence = `${told}; its relay may be welded`;
  const fact = { value: minute.meanW, normal: 0, unit: 'W', since: switchSince, evidence };
  book.say({ kind: 'welded-relay', equipment: id, sure: 'certain', ...fact }, at);
}

function notTurning({ equipment, memory, book }: Inside, minute: MinutePower, ref: number, onFor: number): void {
  const isLow = onFor >= 0 && minute.maxW < 0.25 * ref;
  const count = row(memory, 'still', isLow, minute.minute);
  const { id, name, role } = equipment;
  if (minute.minW > 0.6 * ref) book.clear('pump-not-turning', id);
  // Unplugged on purpose behind a plug that is on happens in the mixing corner; a tank's pump must be seen at once.
  if (count < (role === 'mixing-pump' ? 10 : 2)) return;
  const why = minute.maxW < 1 ? 'draws nothing: dead or unplugged' : 'is on but does not turn';
  const evidence = `${name} ${why}: ${fig(minute.meanW)} W instead of ${fig(ref)} W for ${count} min`;
  const since = memory.rowFrom['still'] ?? minute.minute;
  const sure = count >= 5 ? 'certain' : 'likely';
  const fact = { value: minute.meanW, normal: ref, unit: 'W', since, evidence };
  book.say({ kind: 'pump-not-turning', equipment: id, sure, ...fact }, minute.minute + MINUTE_MS);
}

/** Watts fall far and hunt: air, or running dry. A pump whose watts swing by nature has to fall further. */
function dry({ equipment, memory, book, scene }: Inside, minute: MinutePower, ref: number, onFor: number): void {
  const spread = memory.drift.signature?.spread ?? 0.05 * ref;
  const fall = Math.max(0.3 * ref, 7 * spread);
  const isDry = onFor >= 2 * MINUTE_MS && minute.meanW < ref - fall && minute.maxW >= 0.25 * ref;
  const count = row(memory, 'dry', isDry, minute.minute);
  const { id, name } = equipment;
  if (onFor >= 0 && minute.meanW > ref - 0.5 * fall && row(memory, 'wet', true, minute.minute) >= 10)
    book.clear('pump-dry', id);
  if (isDry || onFor < 0) memory.inRow['wet'] = 0;
  const swings = minute.maxW - minute.minW > Math.max(4 * spread, 0.05 * ref);
  if (count <= 1) memory.inRow['hunts'] = 0;
  if (isDry && swings) memory.inRow['hunts'] = (memory.inRow['hunts'] ?? 0) + 1;
  const hunts = (memory.inRow['hunts'] ?? 0) >= 3;
  // Another pump behind the plug draws less as well, but does not hunt; a person has time to say so.
  if (count < (hunts ? 5 : 60)) return;
  const level = scene.levelNow(5);
  const text = `${name}: ${fig(minute.meanW)} W instead of ${fig(ref)} W (${percent(1 - minute.meanW / ref)} less) for ${count} min`;
  const evidence = `${text}${hunts ? ', and hunting' : ''}: air, no water, or a blocked way${level === null ? '' : `; sump at ${fig(level)} cm`}`;
  const since = memory.rowFrom['dry'] ?? minute.minute;
  const sure = hunts ? (count >= 15 ? 'certain' : 'likely') : 'suspected';
  const fact = { value: minute.meanW, normal: ref, unit: 'W', since, evidence };
  book.say({ kind: 'pump-dry', equipment: id, sure, ...fact }, minute.minute + MINUTE_MS);
}

function noDraw({ equipment, memory, book }: Inside, minute: MinutePower, ref: number, onFor: number): void {
  if (equipment.switch === null || ref < 4 || equipment.role === 'ro-unit' || equipment.role === 'mixing-heater')
    return;
  const isNone = onFor >= 0 && memory.switchOn === true && minute.maxW < Math.max(0.8, 0.1 * ref);
  const count = row(memory, 'none', isNone, minute.minute);
  const { id, name } = equipment;
  if (minute.minW > 0.3 * ref) book.clear('no-draw', id);
  if (count < 5) return;
  const evidence = `${name} is on by its switch and draws ${fig(minute.meanW)} W instead of ${fig(ref)} W for ${count} min`;
  const since = memory.rowFrom['none'] ?? minute.minute;
  const fact = { value: minute.meanW, normal: ref, unit: 'W', since, evidence };
  book.say(
    { kind: 'no-draw', equipment: id, sure: count >= 15 ? 'certain' : 'likely', ...fact },
    minute.minute + MINUTE_MS,
  );
}

const MINUTES_OUT = 10;
const MINUTES_SURE = 30;

/** A step down by whole shares of the set. Of a single lamp, by more than four tenths. */
function pieceOut(
  { equipment, memory, book, scene }: Inside,
  minute: MinutePower,
  ref: number,
  isSettled: boolean,
): void {
  const { id, name, role } = equipment;
  const kind = role === 'fan' ? 'dead-fan' : 'dead-lamp';
  const spread = memory.drift.signature?.spread ?? 0.02 * ref;
  const fall = ref - minute.meanW;
  const out =
    minute.meanW < 0.1 * ref
      ? null
      : sharesOut(fall / ref, equipment.pieces, role === 'uv-unit' || role === 'algae-lamp');
  const isOut = isSettled && out !== null && fall > 6 * spread;
  const count = row(memory, kind, isOut, minute.minute);
  const isWhole = isSettled && Math.abs(fall) < 0.08 * ref;
  if (row(memory, 'whole', isWhole, minute.minute) >= MINUTES_OUT) book.clear(kind, id);
  if (out === null || count < MINUTES_OUT) return;
  const since = memory.rowFrom[kind] ?? minute.minute;
  const before = scene.luxBetween(since - 40 * MINUTE_MS, since - 3 * MINUTE_MS);
  const after = scene.luxBetween(since + MINUTE_MS, minute.minute + MINUTE_MS);
  const lux = kind === 'dead-fan' || before === null || after === null || before < 100 ? null : after / before - 1;
  const darker = lux !== null && lux < -0.08;
  const what = kind === 'dead-fan' ? 'fan' : role === 'fluorescent-bank' ? 'tube' : 'lamp';
  const set = `${numberWord(out.out)} of ${numberWord(out.of)} ${what}${out.of === 1 ? '' : 's'} out`;
  const light = darker ? `; light ${fig(lux * 100, 0)} %` : '';
  const evidence = `${name}: ${set}: ${fig(ref)} W fell to ${fig(minute.meanW)} W, ${percent(fall / ref)}${light}`;
  const sure = darker || count >= MINUTES_SURE ? 'certain' : 'likely';
  const fact = { value: minute.meanW, normal: ref, unit: 'W', since, evidence, pieces: out };
  book.say({ kind, equipment: id, sure, ...fact }, minute.minute + MINUTE_MS);
}

/** Which whole number of pieces a fall fits; sets of unknown size are tried from two to four. */
function sharesOut(fall: number, pieces: number | null, isSingle: boolean): { out: number; of: number } | null {
  if (isSingle && (pieces ?? 1) === 1) return fall > 0.4 ? { out: 1, of: 1 } : null;
  let best: { out: number; of: number; off: number } | null = null;
  for (const of of pieces === null ? [2, 3, 4] : [pieces]) {
    if (of < 2) continue;
    const out = Math.round(fall * of);
    const off = Math.abs(fall - out / of);
    if (out >= 1 && out < of && off < 0.3 / of && (best === null || off < best.off - 0.02)) best = { out, of, off };
  }
  return best === null || fall < 0.12 ? null : { out: best.out, of: best.of };
}
