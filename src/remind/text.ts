import type { Bounds, Measure, Part } from '../model/index.ts';
import { MEASURE_UNITS } from '../model/index.ts';
import type { InstantMs } from '../units/index.ts';
import { DAY_MS, formatBounds, formatNumber, showAmount } from '../units/index.ts';

/** Starts and older ages are told whole; small amounts with as many places as tell them apart. */
const placesFor = (amount: number, measure: Measure): number => {
  const size = Math.abs(amount);
  if (measure === 'starts' || measure === 'actuations') return 0;
  if (measure === 'days') return size >= 10 ? 0 : 1;
  return size >= 100 ? 0 : size >= 10 ? 1 : 2;
};

/** "3,096 h", "344 d". */
export const amountText = (amount: number, measure: Measure): string =>
  showAmount(amount, MEASURE_UNITS[measure], placesFor(amount, measure));

/** Bounds follow where they differ once rounded: "3,096 h (3,090 to 3,102)". */
export const boundedText = (bounds: Bounds, measure: Measure): string =>
  formatBounds(bounds, MEASURE_UNITS[measure], placesFor(bounds.best, measure));

/** What an amount of a measure counts, after the number: "h lit", "starts", "d of age". */
export const measureWord = (measure: Measure, part: Pick<Part, 'kind'>): string => {
  if (measure === 'on-hours') return /tube|lamp|led/.test(part.kind) && !/doser/.test(part.kind) ? 'lit' : 'run';
  return measure === 'days' ? 'of age' : '';
};

/** What a limit is reached by: "by age", "by hours". */
export const byMeasure = (measure: Measure): string =>
  ({
    'on-hours': 'by hours',
    starts: 'by starts',
    litres: 'by litres',
    energy: 'by energy',
    days: 'by age',
    grams: 'by dissolved solids',
    actuations: 'by actuations',
  })[measure];

/** Whole days between two instants, for sentences: 0 is "today". */
export const wholeDays = (fromMs: InstantMs, toMs: InstantMs): number => Math.floor(Math.abs(toMs - fromMs) / DAY_MS);

export const daysText = (days: number): string => (days === 1 ? '1 day' : `${formatNumber(days, 0)} days`);

/** By zone: making one costs a thousand times as much as using it. */
const DATES = new Map<string, Intl.DateTimeFormat>();

/** "15 Sep 2025" in the tank's zone. */
export const dateText = (at: InstantMs, timeZone: string): string => {
  const known = DATES.get(timeZone);
  const format =
    known ?? new Intl.DateTimeFormat('en-GB', { day: 'numeric', month: 'short', year: 'numeric', timeZone });
  if (known === undefined) DATES.set(timeZone, format);
  return format.format(new Date(at));
};
