/** A figure with so many digits behind the point, none where they would all be zero. */
export const fig = (value: number, digits = 1): string => {
  const text = value.toFixed(digits);
  return digits > 0 ? text.replace(/\.?0+$/, '') : text;
};

/** A share as a percentage with its sign. */
export const signed = (share: number): string => `${share >= 0 ? '+' : '−'}${fig(Math.abs(share) * 100, 1)} %`;
export const percent = (share: number): string => `${fig(share * 100, 0)} %`;

const NUMBERS = ['none', 'one', 'two', 'three', 'four', 'five', 'six', 'seven', 'eight', 'nine', 'ten'];
export const numberWord = (count: number): string => NUMBERS[count] ?? String(count);
