import type { Bounds, Measure, Part } from '../model/index.ts';
import { MEASURE_UNITS } from '../model/index.ts';
import type { InstantMs } from '../units/index.ts';
import { DAY_MS } from '../units/index.ts';

/** Places after the point, by size: what a keeper reads at a glance and can still check against a limit. */
const placesFor = (amount: number): number => (Math.abs(amount) >= 100 ? 0 : Math.abs(amount) >= 10 ? 1 : 2);

/** "3,096", "13.9", "0.25"; thousands separated, no trailing zeros. */
export const numberText = (amount: number, places: number = placesFor(amount)): string => {
  const [whole = '0', part = ''] = Math.abs(amount).toFixed(places).split('.');
  const grouped = whole.replace(/\B(?=(\d{3})+$)/g, ',');
  const fraction = part.replace(/0+$/, '');
  const text = fraction === '' ? grouped : `${grouped}.${fraction}`;
  return amount < 0 && text !== '0' ? `-${text}` : text;
};

/** "3,096 h", "344 d". */
export const amountText = (amount: number, measure: Measure): string =>
  `${numberText(amount, measure === 'starts' ? 0 : measure === 'days' ? daysPlaces(amount) : undefined)} ${MEASURE_UNITS[measure]}`;

const daysPlaces = (days: number): number => (Math.abs(days) >= 10 ? 0 : 1);

/** Bounds follow where they differ once rounded: "3,096 h (3,090–3,102)". */
export const boundedText = (bounds: Bounds, measure: Measure): string => {
  const places = measure === 'starts' ? 0 : measure === 'days' ? daysPlaces(bounds.best) : placesFor(bounds.best);
  const [low, high] = [numberText(bounds.low, places), numberText(bounds.high, places)];
  const best = amountText(bounds.best, measure);
  return low === high ? best : `${best} (${low}–${high})`;
};

/** What an amount of a measure counts, after the number: "h lit", "starts", "d of age". */
export const measureWord = (measure: Measure, part: Pick<Part, 'kind'>): string => {
  if (measure === 'on-hours') return /tube|lamp|led/.test(part.kind) && !/doser/.test(part.kind) ? 'lit' : 'run';
  return measure === 'days' ? 'of age' : '';
};

/** What a limit is reached by: "by age", "by hours". */
export const byMeasure = (measure: Measure): string =>
  ({ 'on-hours': 'by hours', starts: 'by starts', litres: 'by litres', energy: 'by energy', days: 'by age' })[measure];

/** Whole days between two instants, for sentences: 0 is "today". */
export const wholeDays = (fromMs: InstantMs, toMs: InstantMs): number => Math.floor(Math.abs(toMs - fromMs) / DAY_MS);

export const daysText = (days: number): string => (days === 1 ? '1 day' : `${numberText(days, 0)} days`);

/** "15 Sep 2025" in the tank's zone. */
export const dateText = (at: InstantMs, timeZone: string): string =>
  new Intl.DateTimeFormat('en-GB', { day: 'numeric', month: 'short', year: 'numeric', timeZone }).format(new Date(at));
