import { formatClock, type InstantMs } from '../../units/index.ts';
import { lastDay, lightPlanAt } from './day.ts';
import { hoursText } from './hours.ts';
import type { AcclimationContext, AcclimationState, HoursFrom, Programme } from './types.ts';

export const FROM_WORDS: Readonly<Record<HoursFrom, string>> = {
  configuration: 'from the configuration',
  counted: 'as counted',
  said: 'as said at the start',
};

/** "Left lamp, day 3 of 19: 64 % of its light, 09:30 to 15:15 of 09:30-18:30". */
export function programmeLine(programme: Programme, state: AcclimationState, ctx: AcclimationContext): string {
  const name = ctx.lamps[programme.lamp]?.name ?? programme.lamp;
  if (programme.status === 'over') return `${name}: its light programme is over, ${programme.why}`;
  if (programme.status === 'handing-back') return `${name}: is being given back to its driver, ${programme.why}`;
  const { day, share, beginsAt, outAt } = lightPlanAt(programme, state.at, ctx.zone);
  const percent = `${Math.floor(share * 100)} %`;
  const clock = (at: InstantMs): string => formatClock(at, ctx.zone);
  const plan = `${name}, day ${day} of ${lastDay(programme)} of new lamps: ${percent} of its light, ${clock(beginsAt)} to ${clock(outAt)} of ${hoursText(programme.hours)}`;
  return `${plan}${stateText(programme, state)}`;
}

function stateText({ lamp, status, day, driver }: Programme, { held, hubUp }: AcclimationState): string {
  const by = held[lamp];
  if (by !== undefined) return `; nothing is switched: ${by}`;
  if (!hubUp) return '; nothing is switched: the hub is away';
  if (day.hand?.turn === 'driver') return `; left to ${driver} for today, resumed by another hand`;
  if (day.hand !== null) return `; switched ${day.hand.turn} by another hand, respected for today`;
  return status === 'taking-over' ? `; ${driver} is being taken over` : '';
}
