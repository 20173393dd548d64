import type { Limit, Measure } from '../model/index.ts';

/** Months as whole days of 365/12, halves rounded up: 3 → 91, 6 → 183, 9 → 274, 12 → 365, 18 → 548. */
export const monthsInDays = (months: number): number => Math.round((months * 365) / 12);

export const limit = (measure: Measure, amount: number): Limit => ({ measure, amount });
export const days = (amount: number): Limit => limit('days', amount);
export const months = (amount: number): Limit => limit('days', monthsInDays(amount));
export const years = (amount: number): Limit => limit('days', amount * 365);
export const onHours = (amount: number): Limit => limit('on-hours', amount);
export const starts = (amount: number): Limit => limit('starts', amount);
export const litres = (amount: number): Limit => limit('litres', amount);
