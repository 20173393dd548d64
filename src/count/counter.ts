import type { CounterDef, CounterId, CounterSource, EntityId, Measure, Origin } from '../model/index.ts';
import {
  type Dissolved,
  type DissolvedBooks,
  isCounting,
  newDissolved,
  passDissolved,
  takeLitres,
  takeTds,
  tdsSteps,
} from './dissolved.ts';
import { grainsPerStep, METER_STEPS_PER_UNIT } from './grains.ts';
import { type Habit, habitText, openHabit } from './habit.ts';
import { type Held, type HeldBooks, newHeld, passHeld, takeWatts } from './held.ts';
import { amountOf, keepLedger, type Ledger, openLedger } from './ledger.ts';
import { type Meter, type MeterBooks, type MeterLog, newMeter, passMeter, takeReading } from './meter.ts';
import { companionSteps, narrowBooks, newNarrow } from './narrow.ts';
import {
  type Companion,
  type Level,
  newSwitched,
  passSwitched,
  type Switched,
  type SwitchedBooks,
  takeCompanion,
  takeLevel,
} from './switched.ts';
import type { CounterState } from './types.ts';

/** Two starts of a switched device are not closer than this; only used to bound what a gap may hide. */
export const SHORTEST_CYCLE_MS = 60_000;
/** The same for the pulses of a meter, and so also the fastest a cumulative pulse count is believed to run. */
export const SHORTEST_PULSE_MS = 1_000;
/** The same for the moves of a float or another contact, unless its source says otherwise. */
export const SHORTEST_ACTUATION_MS = 10_000;

/** Every entity the counter is fed by, its own first. */
export function sourceEntities({ source }: CounterDef): readonly EntityId[] {
  if (source.kind === 'dissolved') return [source.entity, source.tdsEntity];
  const narrowing = 'narrowedBy' in source ? source.narrowedBy : undefined;
  return narrowing === undefined ? [source.entity] : [source.entity, narrowing.entity];
}

type Engine =
  | { readonly kind: 'switched'; readonly run: Switched; readonly books: SwitchedBooks; readonly decode: Decode }
  | { readonly kind: 'meter'; readonly run: Meter; readonly books: MeterBooks }
  | { readonly kind: 'held'; readonly run: Held; readonly books: HeldBooks }
  | { readonly kind: 'dissolved'; readonly run: Dissolved; readonly books: DissolvedBooks };

type Decode = { readonly onAbove: number; readonly offBelow: number };

/** A counter while it is being folded: changed in place, frozen into plain data by `freeze`. */
export type Counter = {
  readonly id: CounterId;
  readonly entity: EntityId;
  /** A second entity that feeds it, or null; and which one it is. */
  readonly companion: EntityId | null;
  readonly source: number;
  readonly companionPrint: number;
  readonly engine: Engine;
  readonly ledgers: readonly Ledger[];
  readonly habit: Habit;
  /** Newest observation taken of its own entity, and of the companion. */
  lastAt: number;
  companionAt: number;
  since: number;
};

const NONE = -1;
const onOff: Decode = { onAbove: 0, offBelow: Number.MIN_VALUE };

/** Tells whether memory was made by the same source; a different one starts from scratch after a gap. */
function fingerprint(text: string): number {
  let hash = 2_166_136_261;
  for (const char of text) hash = Math.imul(hash ^ (char.codePointAt(0) ?? 0), 16_777_619);
  return hash >>> 0;
}

/** A pulse source is either a contact that closes once a pulse, or a number that counts them. */
const isContact = (entity: EntityId): boolean => /^(binary_sensor|input_boolean|switch)\./.test(entity);

const LEDGERS: Readonly<Record<CounterSource['kind'], readonly Measure[]>> = {
  'on-state': ['on-hours', 'starts'],
  'power-threshold': ['on-hours', 'starts'],
  total: ['on-hours', 'starts', 'litres', 'energy'],
  pulses: ['litres'],
  'runtime-rate': ['litres', 'on-hours', 'starts'],
  'held-power': ['energy'],
  edges: ['actuations'],
  dissolved: ['grams'],
};

/** Measures this counter adds up; days are counted by the calendar, not by a fold. */
export function foldedMeasures(def: CounterDef): readonly Measure[] {
  const possible = def.measures.filter((measure) => LEDGERS[def.source.kind].includes(measure));
  return def.source.kind === 'total' ? possible.slice(0, 1) : possible;
}

function kept<T extends Record<keyof T, number>>(fresh: T, memory: CounterState['memory']): T {
  const run = { ...fresh };
  for (const key of Object.keys(fresh) as (keyof T & string)[]) {
    const value = memory[key];
    if (typeof value === 'number') run[key] = value as T[typeof key];
  }
  return run;
}

function switchedBooks(
  source: CounterSource,
  find: (measure: Measure) => Ledger | null,
  rest: Pick<SwitchedBooks, 'habit' | 'companion'>,
): SwitchedBooks {
  const none = { flow: null, flowRate: 0, bothEdges: false };
  const plain = { ...rest, ...none, time: find('on-hours'), edges: find('starts'), edgeGrains: 1 };
  const simple = { ...plain, minOnMs: 0, minOffMs: 0, cycleMs: SHORTEST_CYCLE_MS };
  switch (source.kind) {
    case 'power-threshold': {
      const { minOnMs, minOffMs } = source;
      return { ...plain, minOnMs, minOffMs, cycleMs: minOnMs + minOffMs || SHORTEST_CYCLE_MS };
    }
    case 'runtime-rate':
      return { ...simple, flow: find('litres'), flowRate: Math.round(source.litresPerHour * 1000) };
    case 'pulses': {
      const edgeGrains = Math.round(source.litresPerPulse * 1e6) * grainsPerStep('litres');
      return { ...simple, time: null, edges: find('litres'), edgeGrains, cycleMs: SHORTEST_PULSE_MS };
    }
    case 'edges': {
      const cycleMs = source.shortestMs ?? SHORTEST_ACTUATION_MS;
      return { ...simple, time: null, edges: find('actuations'), bothEdges: source.edges === 'both', cycleMs };
    }
    default:
      return simple;
  }
}

function meterBooks(
  source: CounterSource & { readonly kind: 'total' | 'pulses' | 'dissolved' },
  measure: Measure,
  ledger: Ledger,
): MeterBooks {
  const perUnit = METER_STEPS_PER_UNIT[measure];
  const isPulses = source.kind === 'pulses';
  const unitsPerReading = isPulses ? source.litresPerPulse : source.unitsPerReading;
  const maxPerHour = isPulses ? (3_600_000 / SHORTEST_PULSE_MS) * unitsPerReading : source.maxPerHour;
  return {
    ledger,
    measure,
    stepsPerReading: unitsPerReading * perUnit,
    grainsPerStep: grainsPerStep(measure),
    maxStepsPerHour: maxPerHour * perUnit,
    atOnce: !isPulses && source.resets === 'at-once',
  };
}

function dissolvedEngine(
  source: CounterSource & { readonly kind: 'dissolved' },
  ledger: Ledger,
  memory: CounterState['memory'],
  sameCompanion: boolean,
): Engine {
  // Litres are passed through in meter steps, and never kept.
  const litres = { ...meterBooks(source, 'litres', openLedger('litres', {})), grainsPerStep: 1 };
  const books = { ledger, litres, maxAgeMs: source.tdsMaxAgeMs, most: tdsSteps(source.maxTdsMgPerL) };
  const fresh = newDissolved();
  const run = { meter: kept(fresh.meter, memory), tds: kept(fresh.tds, memory) };
  if (!sameCompanion) run.tds.tds = NONE;
  return { kind: 'dissolved', run, books };
}

function companionOf(source: CounterSource, memory: CounterState['memory']): Companion | null {
  const by = 'narrowedBy' in source ? source.narrowedBy : undefined;
  return by === undefined ? null : { narrow: kept(newNarrow(), memory), books: narrowBooks(by) };
}

type Kept = { readonly sameSource: boolean; readonly sameCompanion: boolean; readonly habit: Habit };

function engineOf(def: CounterDef, state: CounterState, ledgers: readonly Ledger[], was: Kept): Engine {
  const { source } = def;
  const memory = was.sameSource ? state.memory : {};
  const find = (measure: Measure): Ledger | null => ledgers.find((ledger) => ledger.measure === measure) ?? null;
  // After a change of source, nobody watched from the last observation of the old one on.
  const gapFrom = state.countingSince === null ? NONE : (state.lastAt ?? NONE);
  const first = ledgers[0];
  if (source.kind === 'held-power' && first !== undefined) {
    const { maxHoldMs, maxPowerW } = source;
    return { kind: 'held', run: kept(newHeld(gapFrom), memory), books: { ledger: first, maxHoldMs, maxPowerW } };
  }
  if (source.kind === 'dissolved' && first !== undefined)
    return dissolvedEngine(source, first, memory, was.sameCompanion);
  const counts = source.kind === 'total' || (source.kind === 'pulses' && !isContact(source.entity));
  if (counts && first !== undefined) {
    return { kind: 'meter', run: kept(newMeter(), memory), books: meterBooks(source, first.measure, first) };
  }
  const decode = source.kind === 'power-threshold' ? { onAbove: source.onAboveW, offBelow: source.offBelowW } : onOff;
  const companion = companionOf(source, was.sameCompanion ? memory : {});
  const books = switchedBooks(source, find, { habit: was.habit, companion });
  return { kind: 'switched', run: kept(newSwitched(gapFrom), memory), books, decode };
}

export function thaw(def: CounterDef, state: CounterState): Counter {
  const { source } = def;
  const [, companion = null] = sourceEntities(def);
  const print = fingerprint(`${source.kind} ${source.entity}`);
  const companionPrint = companion === null ? 0 : fingerprint(companion);
  const remembered = state.memory['source'];
  const sameSource = remembered === undefined || remembered === print;
  const sameCompanion = state.memory['companion'] === companionPrint;
  const ledgers = foldedMeasures(def).map((measure) => openLedger(measure, state.memory));
  const habit = openHabit(state.habit);
  return {
    id: def.id,
    entity: source.entity,
    companion,
    source: print,
    companionPrint,
    engine: engineOf(def, state, ledgers, { sameSource, sameCompanion, habit }),
    ledgers,
    habit,
    lastAt: (sameSource ? state.memory['ownAt'] : undefined) ?? state.lastAt ?? NONE,
    companionAt: (sameCompanion ? state.memory['companionAt'] : undefined) ?? NONE,
    since: state.countingSince ?? NONE,
  };
}

function memoryOf({ engine }: Counter): Record<string, number> {
  if (engine.kind === 'dissolved') return { ...engine.run.meter, ...engine.run.tds };
  if (engine.kind === 'switched') return { ...engine.run, ...engine.books.companion?.narrow };
  return { ...engine.run };
}

export function freeze(counter: Counter): CounterState {
  const memory: Record<string, number | null> = { source: counter.source, ...memoryOf(counter) };
  if (counter.companion !== null) {
    memory['companion'] = counter.companionPrint;
    memory['ownAt'] = counter.lastAt;
    memory['companionAt'] = counter.companionAt;
  }
  for (const ledger of counter.ledgers) keepLedger(ledger, memory);
  const lastAt = Math.max(counter.lastAt, counter.companionAt);
  const habit = habitText(counter.habit);
  return {
    id: counter.id,
    amounts: Object.fromEntries(counter.ledgers.map((ledger) => [ledger.measure, amountOf(ledger)])),
    countingSince: counter.since === NONE ? null : counter.since,
    lastAt: lastAt === NONE ? null : lastAt,
    memory,
    ...(habit === '' ? {} : { habit }),
  };
}

function levelOf(value: number | null, decode: Decode, level: Level): Level {
  if (value === null) return -1;
  if (value > decode.onAbove) return 1;
  return value < decode.offBelow ? 0 : level;
}

/** Takes one observation that is newer than the last. */
export function take(counter: Counter, at: number, value: number | null, origin: Origin, log: MeterLog): void {
  const { engine } = counter;
  counter.lastAt = at;
  if (engine.kind === 'switched') {
    const level = levelOf(value, engine.decode, engine.run.level);
    if (counter.since === NONE && level !== -1) counter.since = at;
    takeLevel(engine.run, engine.books, at, level, origin);
    return;
  }
  if (engine.kind === 'dissolved') {
    takeLitres(engine.run, engine.books, at, value, origin, log);
    if (counter.since === NONE && isCounting(engine.run)) counter.since = at;
    return;
  }
  if (counter.since === NONE && value !== null && value >= 0) counter.since = at;
  if (engine.kind === 'meter') takeReading(engine.run, engine.books, at, value, origin, log);
  else takeWatts(engine.run, engine.books, at, value, origin);
}

/** Takes one observation of the companion entity that is newer than its last and not older than any taken. */
export function takeOfCompanion(counter: Counter, at: number, value: number | null, origin: Origin): void {
  const { engine } = counter;
  counter.companionAt = at;
  if (engine.kind === 'dissolved') {
    takeTds(engine.run, engine.books, at, value);
    if (counter.since === NONE && isCounting(engine.run)) counter.since = at;
  } else if (engine.kind === 'switched' && engine.books.companion !== null) {
    const { companion } = engine.books;
    const steps = value === null || value < 0 ? NONE : companionSteps(companion.books, value);
    takeCompanion(engine.run, engine.books, companion, at, steps, origin);
  }
}

/**
 * Whether something from before the last observation is not booked yet: a gap that waits for its companion meter, a fall or
 * a rise that waits for a second reading.
 */
export function hasOpenPast({ memory }: CounterState): boolean {
  return ['waitFrom', 'fall', 'jump'].some((name) => (memory[name] ?? NONE) !== NONE);
}

/** Books what has passed until `now` with nothing new seen; spoils the counter for further folding. */
export function pass(counter: Counter, now: number): void {
  const { engine } = counter;
  if (counter.since === NONE) return;
  if (engine.kind === 'switched') passSwitched(engine.run, engine.books, now);
  else if (engine.kind === 'meter') passMeter(engine.run, engine.books, now);
  else if (engine.kind === 'dissolved') passDissolved(engine.run, engine.books, now);
  else passHeld(engine.run, engine.books, now);
}
