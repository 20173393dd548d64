import type { CounterDef, CounterId, CounterSource, EntityId, Measure, Origin } from '../model/index.ts';
import { grainsPerStep, METER_STEPS_PER_UNIT } from './grains.ts';
import { type Held, type HeldBooks, newHeld, passHeld, takeWatts } from './held.ts';
import { amountOf, keepLedger, type Ledger, openLedger } from './ledger.ts';
import { type Meter, type MeterBooks, type MeterLog, newMeter, passMeter, takeReading } from './meter.ts';
import { type Level, newSwitched, passSwitched, type Switched, type SwitchedBooks, takeLevel } from './switched.ts';
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
  | { readonly kind: 'held'; readonly run: Held; readonly books: HeldBooks };

type Decode = { readonly onAbove: number; readonly offBelow: number };

/** A counter while it is being folded: changed in place, frozen into plain data by `freeze`. */
export type Counter = {
  readonly id: CounterId;
  readonly entity: EntityId;
  readonly source: number;
  readonly engine: Engine;
  readonly ledgers: readonly Ledger[];
  lastAt: number;
  since: number;
};

const NONE = -1;
const onOff: Decode = { onAbove: 0, offBelow: Number.MIN_VALUE };

/** Tells whether memory was made by the same source; a different one starts from scratch after a gap. */
function fingerprint(source: CounterSource): number {
  let hash = 2_166_136_261;
  for (const char of `${source.kind} ${source.entity}`) hash = Math.imul(hash ^ (char.codePointAt(0) ?? 0), 16_777_619);
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

function switchedBooks(source: CounterSource, find: (measure: Measure) => Ledger | null): SwitchedBooks {
  const plain = { time: find('on-hours'), flow: null, flowRate: 0, edges: find('starts'), edgeGrains: 1 };
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
    default:
      return simple;
  }
}

function meterBooks(
  source: CounterSource & { readonly kind: 'total' | 'pulses' },
  measure: Measure,
  ledger: Ledger,
): MeterBooks {
  const perUnit = METER_STEPS_PER_UNIT[measure];
  const unitsPerReading = source.kind === 'total' ? source.unitsPerReading : source.litresPerPulse;
  const maxPerHour = source.kind === 'total' ? source.maxPerHour : (3_600_000 / SHORTEST_PULSE_MS) * unitsPerReading;
  return {
    ledger,
    measure,
    stepsPerReading: unitsPerReading * perUnit,
    grainsPerStep: grainsPerStep(measure),
    maxStepsPerHour: maxPerHour * perUnit,
    atOnce: source.kind === 'total' && source.resets === 'at-once',
  };
}

function engineOf(def: CounterDef, state: CounterState, ledgers: readonly Ledger[], sameSource: boolean): Engine {
  const { source } = def;
  const memory = sameSource ? state.memory : {};
  const find = (measure: Measure): Ledger | null => ledgers.find((ledger) => ledger.measure === measure) ?? null;
  // After a change of source, nobody watched from the last observation of the old one on.
  const gapFrom = state.countingSince === null ? NONE : (state.lastAt ?? NONE);
  const first = ledgers[0];
  if (source.kind === 'held-power' && first !== undefined) {
    const { maxHoldMs, maxPowerW } = source;
    return { kind: 'held', run: kept(newHeld(gapFrom), memory), books: { ledger: first, maxHoldMs, maxPowerW } };
  }
  const counts = source.kind === 'total' || (source.kind === 'pulses' && !isContact(source.entity));
  if (counts && first !== undefined) {
    return { kind: 'meter', run: kept(newMeter(), memory), books: meterBooks(source, first.measure, first) };
  }
  const decode = source.kind === 'power-threshold' ? { onAbove: source.onAboveW, offBelow: source.offBelowW } : onOff;
  return { kind: 'switched', run: kept(newSwitched(gapFrom), memory), books: switchedBooks(source, find), decode };
}

export function thaw(def: CounterDef, state: CounterState): Counter {
  const source = fingerprint(def.source);
  const remembered = state.memory['source'];
  const sameSource = remembered === undefined || remembered === source;
  const ledgers = foldedMeasures(def).map((measure) => openLedger(measure, state.memory));
  return {
    id: def.id,
    entity: def.source.entity,
    source,
    engine: engineOf(def, state, ledgers, sameSource),
    ledgers,
    lastAt: state.lastAt ?? NONE,
    since: state.countingSince ?? NONE,
  };
}

export function freeze(counter: Counter): CounterState {
  const memory: Record<string, number | null> = { source: counter.source, ...counter.engine.run };
  for (const ledger of counter.ledgers) keepLedger(ledger, memory);
  return {
    id: counter.id,
    amounts: Object.fromEntries(counter.ledgers.map((ledger) => [ledger.measure, amountOf(ledger)])),
    countingSince: counter.since === NONE ? null : counter.since,
    lastAt: counter.lastAt === NONE ? null : counter.lastAt,
    memory,
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
  if (counter.since === NONE && value !== null && value >= 0) counter.since = at;
  if (engine.kind === 'meter') takeReading(engine.run, engine.books, at, value, origin, log);
  else takeWatts(engine.run, engine.books, at, value, origin);
}

/** Books what has passed until `now` with nothing new seen; spoils the counter for further folding. */
export function pass(counter: Counter, now: number): void {
  const { engine } = counter;
  if (counter.since === NONE) return;
  if (engine.kind === 'switched') passSwitched(engine.run, engine.books, now);
  else if (engine.kind === 'meter') passMeter(engine.run, engine.books, now);
  else passHeld(engine.run, engine.books, now);
}
