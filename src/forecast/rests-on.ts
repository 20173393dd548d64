import type { InstantMs } from '../units/index.ts';
import { DAY_MS } from '../units/index.ts';
import type { UseOutlook } from './use-outlook.ts';

/** Less than most of a year shows no season, only a trend. */
const LEAST_SEASON_DAYS = 330;
/** A swing smaller than this share of the mean is not worth a word. */
const TOLD_SWING = 0.08;
const YEAR_WEEKS = 52;

/** "from 400 days of use, busiest around January": what a date rests on, for whoever has to trust it. */
export function restsOn(days: number, outlook: UseOutlook | null, now: InstantMs): string {
  const from = `from ${days} days of use`;
  if (outlook === null || outlook.days < LEAST_SEASON_DAYS || outlook.total.swing < TOLD_SWING) return from;
  const year = outlook.total.season.subarray(0, YEAR_WEEKS);
  const busiest = year.indexOf(Math.max(...year));
  return `${from}, busiest around ${monthOf(now + (busiest + 0.5) * 7 * DAY_MS)}`;
}

const MONTHS = new Intl.DateTimeFormat('en-GB', { month: 'long', timeZone: 'UTC' });
const monthOf = (at: InstantMs): string => MONTHS.format(new Date(at));
