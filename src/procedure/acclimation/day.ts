import {
  DAY_MS,
  type DurationMs,
  dateStart,
  type InstantMs,
  type IsoDate,
  localDate,
  localTime,
  MINUTE_MS,
  nextDayStart,
} from '../../units/index.ts';
import { shareOf } from './share.ts';
import type { LitHours, Programme } from './types.ts';

/**
 * A light day reaches from the middle of one usual night to the middle of the next, so that no hour of light is ever cut by
 * a change of day, hours over midnight included.
 */
export type LightPlan = {
  readonly date: IsoDate;
  /** 1 = the day it began on. */
  readonly day: number;
  readonly share: number;
  readonly beginsAt: InstantMs;
  /** The end of that day's share. */
  readonly outAt: InstantMs;
  readonly phase: 'early' | 'lit' | 'late';
};

export const clockText = (minute: number): string => {
  const two = (value: number): string => String(value).padStart(2, '0');
  const at = ((Math.round(minute) % 1440) + 1440) % 1440;
  return `${two(Math.floor(at / 60))}:${two(at % 60)}`;
};

/** From midnight to the turn of the light day; before midnight where the hours begin early. */
const turnMsOf = ({ onMinute, litMs }: LitHours): DurationMs => onMinute * MINUTE_MS - (DAY_MS - litMs) / 2;

export const lightDateAt = (hours: LitHours, at: InstantMs, zone: string): IsoDate =>
  localDate(at - turnMsOf(hours), zone);

type WholeDay = Omit<LightPlan, 'phase'> & { readonly from: InstantMs; readonly to: InstantMs };

/** It is asked for every second, and changes once a day. */
const known = new WeakMap<LitHours, WholeDay>();

export function lightPlanAt(programme: Programme, at: InstantMs, zone: string): LightPlan {
  const { hours } = programme;
  let plan = known.get(hours);
  if (plan === undefined || at < plan.from || at >= plan.to) {
    plan = wholeDay(programme, at, zone);
    known.set(hours, plan);
  }
  const { date, day, share, beginsAt, outAt } = plan;
  return { date, day, share, beginsAt, outAt, phase: at < beginsAt ? 'early' : at < outAt ? 'lit' : 'late' };
}

function wholeDay({ hours, firstDate, startShare, rampMs }: Programme, at: InstantMs, zone: string): WholeDay {
  const date = lightDateAt(hours, at, zone);
  const day = daysBetween(firstDate, date);
  const share = shareOf(day, startShare, rampMs);
  const beginsAt = localTime(date, clockText(hours.onMinute), zone);
  const outAt = beginsAt + Math.round(share * hours.litMs);
  const from = dateStart(date, zone) + turnMsOf(hours);
  return {
    date,
    day: day + 1,
    share,
    beginsAt,
    outAt,
    from,
    to: nextDayStart(dateStart(date, zone), zone) + turnMsOf(hours),
  };
}

/** On which of the days the full hours are reached, and the driver has it back. */
export const lastDay = ({ rampMs }: Pick<Programme, 'rampMs'>): number => Math.ceil(rampMs / DAY_MS) + 1;

const daysBetween = (from: IsoDate, to: IsoDate): number =>
  Math.max(0, Math.round((dateStart(to, 'UTC') - dateStart(from, 'UTC')) / DAY_MS));
