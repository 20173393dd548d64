import { problem, type SlackwaterError } from '../errors/index.ts';
import { scaled } from './context.ts';
import { freshReading } from './evidence.ts';
import { levelNow } from './level.ts';
import { recalled } from './memory.ts';
import {
  askAfresh,
  closeStep,
  openStepOf,
  patchRecord,
  type Run,
  recallNumber,
  recallText,
  remember,
  say,
} from './run.ts';
import type { Asked, ReadingQuantity, SessionState, Step, StepReading } from './types.ts';

const QUANTITIES: Readonly<
  Record<ReadingQuantity, { readonly name: string; readonly unit: string; readonly digits: number }>
> = {
  'salinity-ppt': { name: 'salinity', unit: 'ppt', digits: 1 },
  'temperature-c': { name: 'temperature', unit: '°C', digits: 1 },
  'level-cm': { name: 'level', unit: 'cm', digits: 1 },
  'volume-l': { name: 'volume', unit: 'L', digits: 1 },
  'tds-mg-per-l': { name: 'dissolved solids', unit: 'mg/L', digits: 0 },
  'alkalinity-dkh': { name: 'alkalinity', unit: 'dKH', digits: 1 },
  'mass-g': { name: 'mass', unit: 'g', digits: 0 },
  'age-h': { name: 'age', unit: 'h', digits: 1 },
  count: { name: 'count', unit: '', digits: 0 },
};
/** Only a temperature can lie below zero. */
const leastOf = (quantity: ReadingQuantity): number => (quantity === 'temperature-c' ? -10 : 0);
/** Two typed values this near each other are the same word given twice. */
const SAME_SHARE = 0.02;

/** "35.2 ppt"; no digits are shown that nobody typed. */
export function withUnit(quantity: ReadingQuantity, value: number): string {
  const { unit, digits } = QUANTITIES[quantity];
  const rounded = Number(value.toFixed(Math.max(digits, 3)));
  return unit === '' ? `${rounded}` : `${rounded} ${unit}`;
}

/** Between which values the session goes on: the step's own limits, and those an earlier value sets. */
export function limitsOf(state: SessionState, reading: StepReading): { low: number; high: number; as: number | null } {
  const earlier =
    reading.sameAs === undefined ? undefined : state.records.find((record) => record.id === reading.sameAs)?.value;
  const tolerance = reading.tolerance ?? 0;
  return {
    low: Math.max(
      leastOf(reading.quantity),
      reading.low ?? -Infinity,
      earlier === undefined ? -Infinity : earlier - tolerance,
    ),
    high: Math.min(reading.high ?? Infinity, earlier === undefined ? Infinity : earlier + tolerance),
    as: earlier ?? null,
  };
}

export const readingOf = (state: SessionState, asked: string): StepReading | null => {
  const step = openStepOf(state);
  return step !== undefined && step.id === asked && step.action === 'reading' ? (step.reading ?? null) : null;
};

export type ValueJudgement =
  | { readonly ok: true; readonly value: number | null }
  | { readonly ok: false; readonly problem: SlackwaterError; readonly wrong: number | null };

/** Whether what was typed, or what a sensor proposed in its place, lets the session go on. */
export function judgeValue(state: SessionState, asked: string, typed: number | undefined): ValueJudgement {
  const reading = readingOf(state, asked);
  if (reading === null) {
    if (typed === undefined) return { ok: true, value: null };
    return { ok: false, problem: problem('SW-SES-018', { value: String(typed) }), wrong: null };
  }
  const { name, unit } = QUANTITIES[reading.quantity];
  const proposed = recalled(state.memory, 's.proposed');
  const value = typed ?? (typeof proposed === 'number' ? proposed : undefined);
  if (value === undefined || !Number.isFinite(value)) {
    return {
      ok: false,
      problem: problem('SW-SES-017', { what: unit === '' ? name : `${name} in ${unit}` }),
      wrong: null,
    };
  }
  const why = outside(state, reading, value) ?? contradicts(state, reading, value);
  return why === null
    ? { ok: true, value }
    : { ok: false, problem: problem('SW-SES-019', { value: withUnit(reading.quantity, value), why }), wrong: value };
}

function outside(state: SessionState, reading: StepReading, value: number): string | null {
  const { low, high, as } = limitsOf(state, reading);
  const side = value < low ? 'below' : value > high ? 'above' : null;
  if (side === null) return null;
  const limit = withUnit(reading.quantity, side === 'below' ? low : high);
  const earlier = as === null ? '' : `; ${withUnit(reading.quantity, as)} was typed before`;
  return `it is ${side} the ${limit} with which the session goes on${earlier}`;
}

/** A sensor that freshly says otherwise is not talked over by one word; the same word given twice is taken, unproven. */
function contradicts(state: SessionState, reading: StepReading, value: number): string | null {
  const sensed = recalled(state.memory, 's.sensed');
  const before = recalled(state.memory, 's.wrong');
  if (typeof sensed !== 'number' || outside(state, reading, sensed) === null) return null;
  if (typeof before === 'number' && Math.abs(value - before) <= SAME_SHARE * Math.abs(before)) return null;
  return `${reading.entity ?? 'the sensor'} freshly reads ${withUnit(reading.quantity, sensed)}; measure again, and type the same once more if you are sure`;
}

/** The words under the question: unit, limits, what a sensor reads, and what was wrong with the last value. */
export function askText(run: Run, step: Step): string {
  const { reading } = step;
  if (reading === undefined) return step.text;
  const asked = askedOf(run, reading);
  const { name, unit } = QUANTITIES[reading.quantity];
  const say = (value: number): string => withUnit(reading.quantity, value);
  const parts = [step.text, `Type the ${name}${unit === '' ? '' : ` in ${unit}`}${limitWords(asked, say)}.`];
  if (asked.proposed !== undefined)
    parts.push(`${reading.entity ?? 'A sensor'} reads ${say(asked.proposed)}: confirm without a value to take that.`);
  const wrong = recallText(run, 's.wrongText');
  if (wrong !== null) parts.push(`Last: ${wrong} Put it right and type the new value; or abort.`);
  return parts.join(' ');
}

function limitWords(asked: Asked, say: (value: number) => string): string {
  if (asked.low !== undefined && asked.high !== undefined) return `, between ${say(asked.low)} and ${say(asked.high)}`;
  if (asked.high !== undefined) return `, at most ${say(asked.high)}`;
  return asked.low === undefined || asked.low === 0 ? '' : `, at least ${say(asked.low)}`;
}

export function askedOf(run: Run, reading: StepReading): Asked {
  const { low, high } = limitsOf(run.state, reading);
  const proposed = recallNumber(run, 's.proposed');
  return {
    quantity: reading.quantity,
    unit: QUANTITIES[reading.quantity].unit,
    ...(Number.isFinite(low) ? { low } : {}),
    ...(Number.isFinite(high) ? { high } : {}),
    ...(proposed === null ? {} : { proposed }),
  };
}

/** What the sensor reads is held still for as long as a reading is fresh, so that the question does not change under the eye. */
export function followProposal(run: Run): void {
  const step = openStepOf(run.state);
  const entity = step?.action === 'reading' ? step.reading?.entity : undefined;
  if (step?.reading === undefined || entity === undefined || run.state.status !== 'held') return;
  askAfresh(run, [entity], 5);
  const value = freshReading(run, entity) === null ? null : sensedValue(run, entity);
  const since = recallNumber(run, 's.sensedAt');
  if (value !== null && since !== null && run.at - since < scaled(run.ctx.settings.freshMs, run.ctx)) return;
  const rounded = value === null ? null : Number(value.toFixed(QUANTITIES[step.reading.quantity].digits));
  remember(run, 's.sensed', rounded);
  remember(run, 's.sensedAt', rounded === null ? null : run.at);
  const fits = rounded !== null && outside(run.state, step.reading, rounded) === null;
  remember(run, 's.proposed', fits ? rounded : null);
}

const sensedValue = (run: Run, entity: string): number | null =>
  entity === run.ctx.sumpLevelEntity ? levelNow(run) : (freshReading(run, entity)?.value ?? null);

/** A value that does not do: said, noted, and asked again under a new question. */
export function refuseValue(run: Run, step: Step, wrong: number, why: string, person: string): void {
  remember(run, 's.wrong', wrong);
  remember(run, 's.wrongText', why);
  if (step.reading === undefined) return;
  const evidenceText = `${withUnit(step.reading.quantity, wrong)} typed by ${person}: not taken`;
  patchRecord(run, step.id, { evidenceText, tries: (run.state.records[run.state.stepIndex]?.tries ?? 0) + 1 });
  say(run, why);
  run.state.prompt = null;
}

export function takeValue(run: Run, step: Step, value: number, person: string, isTyped: boolean): void {
  const { reading } = step;
  if (reading === undefined) return;
  const text = withUnit(reading.quantity, value);
  const sensed = recallNumber(run, 's.sensed');
  const against = isTyped && sensed !== null && outside(run.state, reading, sensed) !== null;
  patchRecord(run, step.id, { value });
  const how = isTyped
    ? `${text}, typed by ${person}${against ? ` twice, against ${withUnit(reading.quantity, sensed)} of ${reading.entity ?? 'a sensor'}` : ''}`
    : `${text}, read by ${reading.entity ?? 'a sensor'} and confirmed by ${person}`;
  closeStep(run, step, against ? 'passed-unproven' : 'passed', 5, how, person);
}
