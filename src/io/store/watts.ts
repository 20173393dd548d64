/**
 * Powers are kept as whole codes on a scale of 0.05 W steps below 12.8 W, and above that of 128 steps to each doubling: as
 * fine as a plug reads when little flows, within 0.8 % where much does. Codes rise with watts, so rounding down or up
 * gives a true bound.
 */
const STEPS_PER_W = 20;
const LINEAR_CODES = 256;
const CODES_PER_DOUBLING = 128;

export type Rounding = 'down' | 'nearest' | 'up';

function rounded(value: number, rounding: Rounding): number {
  // Binary fractions of readings such as 35.6 must not fall just beside their own step.
  const near = Math.round(value);
  if (Math.abs(value - near) < 1e-6) return near;
  return rounding === 'down' ? Math.floor(value) : rounding === 'up' ? Math.ceil(value) : near;
}

export function wattsCode(watts: number, rounding: Rounding): number {
  const steps = Math.max(0, watts) * STEPS_PER_W;
  if (steps < LINEAR_CODES) return rounded(steps, rounding);
  const doublings = Math.floor(Math.log2(steps / LINEAR_CODES));
  const base = LINEAR_CODES * 2 ** doublings;
  return (
    LINEAR_CODES + doublings * CODES_PER_DOUBLING + rounded(((steps - base) / base) * CODES_PER_DOUBLING, rounding)
  );
}

export function codeWatts(code: number): number {
  if (code < LINEAR_CODES) return code / STEPS_PER_W;
  const above = code - LINEAR_CODES;
  const base = LINEAR_CODES * 2 ** Math.floor(above / CODES_PER_DOUBLING);
  return (base + (base * (above % CODES_PER_DOUBLING)) / CODES_PER_DOUBLING) / STEPS_PER_W;
}
