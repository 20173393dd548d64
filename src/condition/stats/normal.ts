// The normal distribution to nearly full double precision.

const SERIES_BELOW = 2;
const TERMS = 200;

/** Upper tail of the error function: series near zero, continued fraction (Lentz) further out. */
export function erfc(x: number): number {
  if (x < 0) return 2 - erfc(-x);
  if (x < SERIES_BELOW) {
    let term = x;
    let sum = x;
    for (let n = 1; n < TERMS && Math.abs(term) > 1e-18 * Math.abs(sum); n += 1) {
      term *= (-x * x) / n;
      sum += term / (2 * n + 1);
    }
    return 1 - (2 / Math.sqrt(Math.PI)) * sum;
  }
  const tiny = 1e-300;
  let f = x;
  let c = x;
  let d = 0;
  for (let n = 1; n < TERMS; n += 1) {
    const a = n / 2;
    d = 1 / (x + a * d || tiny);
    c = x + a / c || tiny;
    const step = c * d;
    f *= step;
    if (Math.abs(step - 1) < 1e-16) break;
  }
  return Math.exp(-x * x) / (f * Math.sqrt(Math.PI));
}

export const normalCdf = (z: number): number => 0.5 * erfc(-z / Math.SQRT2);

const LOW_TAIL = 0.02425;
const A = [
  -39.69683028665376, 220.9460984245205, -275.9285104469687, 138.357751867269, -30.66479806614716, 2.506628277459239,
];
const B = [-54.47609879822406, 161.5858368580409, -155.6989798598866, 66.80131188771972, -13.28068155288572, 1];
const C = [
  -0.007784894002430293, -0.3223964580411365, -2.400758277161838, -2.549732539343734, 4.374664141464968,
  2.938163982698783,
];
const D = [0.007784695709041462, 0.3224671290700398, 2.445134137142996, 3.754408661907416, 1];
const poly = (coefficients: readonly number[], x: number): number => coefficients.reduce((sum, c) => sum * x + c, 0);

/** Inverse of the normal distribution: a rational start value, then two steps of Halley. NaN outside 0 < p < 1. */
export function normalQuantile(p: number): number {
  if (!(p > 0 && p < 1)) return Number.NaN;
  if (p > 0.5) return -normalQuantile(1 - p);
  let z: number;
  if (p < LOW_TAIL) {
    const q = Math.sqrt(-2 * Math.log(p));
    z = poly(C, q) / poly(D, q);
  } else {
    const q = p - 0.5;
    z = (poly(A, q * q) * q) / poly(B, q * q);
  }
  for (let step = 0; step < 2; step += 1) {
    const error = (normalCdf(z) - p) * Math.sqrt(2 * Math.PI) * Math.exp((z * z) / 2);
    z -= error / (1 + (z * error) / 2);
  }
  return z;
}
