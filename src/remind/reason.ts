import type { Part } from '../model/index.ts';
import type { InstantMs } from '../units/index.ts';
import { DAY_MS } from '../units/index.ts';
import type { DatedFinding } from './condition.ts';
import type { Judged, StandingInput } from './standing.ts';
import { amountText, boundedText, byMeasure, dateText, daysText, measureWord, wholeDays } from './text.ts';

/**
 * One sentence with numbers, units and bounds: "C1 tubes: 344 d of 365 d of age; 3,096 h (3,090 to 3,102) of 3,600 h lit;
 * due in 21 days by age". The deciding limit comes first.
 */
export const reasonOf = (input: StandingInput, first: Judged | null, all: readonly Judged[]): string => {
  const { part, life, now } = input;
  const seen = (input.findings ?? []).map((one) => seenText(one, input));
  if (first === null) return `${part.name}: ${[...seen, 'no limit is set, so nothing can be said'].join('; ')}`;
  const order = [first, ...all.filter((one) => one !== first)];
  const clauses = [
    ...seen,
    ...order.map((one) => amountClause(one, part)),
    outlook(first, input),
    ...ofMany(input),
    ...(life === null ? ['no date of fitting is known: say when it was fitted'] : []),
    ...spare(first, part, now),
    ...debt(first, input),
  ];
  return `${part.name}: ${clauses.join('; ')}`;
};

/** What was seen, and where a trend leads to its limit, when. */
const seenText = ({ sure, evidence, foreseen }: DatedFinding, { now, timeZone }: StandingInput): string => {
  const text = `${sure === 'certain' ? 'seen' : 'likely'}: ${evidence}`;
  if (foreseen == null || foreseen.reach.likely - now < DAY_MS) return text;
  return `${text}; at this rate it is due on ${dateText(foreseen.reach.likely, timeZone)}`;
};

const amountClause = (one: Judged, part: Part): string => {
  const unit = measureWord(one.measure, part);
  const limit = `${amountText(one.limit, one.measure)}${unit === '' ? '' : ` ${unit}`}`;
  if (one.used.countingSince === null) return `nothing counted yet towards ${limit}`;
  return `${boundedText(one.used, one.measure)} of ${limit}`;
};

const outlook = (first: Judged, input: StandingInput): string => {
  const { now, part } = input;
  const by = byMeasure(first.measure);
  const { reach } = first;
  if (first.word === 'unknown') return 'unknown, which is not fine';
  if (first.word === 'overdue' || (first.word === 'due' && !first.maybeReached)) {
    const past = reach === null ? null : wholeDays(reach.likely, now);
    if (first.word === 'overdue') return past === null ? `overdue ${by}` : `overdue by ${daysText(past)} ${by}`;
    return past === null || past === 0 ? `due now ${by}` : `due since ${daysText(past)} ${by}`;
  }
  if (first.word === 'due')
    return `due now ${by}, because ${part.name} guards against harm and the upper bound has reached the limit`;
  const maybe = first.maybeReached ? 'may be reached already by the upper bound; ' : '';
  if (reach === null) return `${maybe}no rate of use known yet, so no date`;
  return `${maybe}${ahead(reach, input)} ${by}`;
};

const ahead = (reach: NonNullable<Judged['reach']>, { now, timeZone }: StandingInput): string => {
  const days = Math.round((reach.likely - now) / DAY_MS);
  if (days < 1) return `due within a day, on ${dateText(reach.likely, timeZone)},`;
  const [early, late] = [Math.floor((reach.early - now) / DAY_MS), Math.ceil((reach.late - now) / DAY_MS)];
  const span = late - early > 2 ? ` (${early} to ${late})` : '';
  return `due in ${days}${span} ${days === 1 && span === '' ? 'day' : 'days'}, on ${dateText(reach.likely, timeZone)},`;
};

/** A set of several ages is as due as its oldest piece; nobody should take the rest out with it unknowingly. */
const ofMany = ({ life }: StandingInput): string[] => {
  const pieces = life?.pieces ?? [];
  const oldest = pieces.filter((piece) => piece.fittedAt === life?.fittedAt).map((piece) => piece.piece);
  if (pieces.length === 0) return [];
  return [`the oldest of ${pieces.length} pieces (${oldest.length === 1 ? 'place' : 'places'} ${oldest.join(', ')})`];
};

const spare = (first: Judged, part: Part, now: InstantMs): string[] => {
  if (part.leadTimeMs === undefined || first.reach === null || (first.word !== 'near' && first.word !== 'order'))
    return [];
  if (first.reach.likely - part.leadTimeMs > now) return [];
  return [`order the spare now, it takes ${daysText(Math.round(part.leadTimeMs / DAY_MS))}`];
};

/** What is put off stays visible, with its growing debt. */
const debt = (first: Judged, { putOff, now, timeZone }: StandingInput): string[] => {
  if (putOff === undefined || putOff === null) return [];
  const told = `put off until ${dateText(putOff.until, timeZone)} by ${putOff.by}`;
  const owed = first.share < 1 || first.reach === null ? null : wholeDays(first.reach.likely, now);
  return [owed === null ? told : `${told}, ${daysText(owed)} of debt`];
};
