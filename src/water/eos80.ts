import { ipts68 } from './practical-salinity.ts';
import { within } from './range.ts';
import { polynomial } from './root.ts';
import { SALINITY, SEA_PRESSURE, TEMPERATURE, type Water } from './seawater.ts';

// EOS-80 as in UNESCO Technical Papers in Marine Science 44 (1983). The temperature inside is IPTS-68.
const PURE = [999.842594, 6.793952e-2, -9.09529e-3, 1.001685e-4, -1.120083e-6, 6.536332e-9];
const BY_SALT = [8.24493e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9];
const BY_SALT_ROOT = [-5.72466e-3, 1.0227e-4, -1.6546e-6];
const BY_SALT_SQUARE = 4.8314e-4;
const STIFFNESS = [19652.21, 148.4206, -2.327105, 1.360477e-2, -5.155288e-5];
const STIFFNESS_BY_SALT = [54.6746, -0.603459, 1.09987e-2, -6.167e-5];
const STIFFNESS_BY_SALT_ROOT = [7.944e-2, 1.6483e-2, -5.3009e-4];
const A = [3.239908, 1.43713e-3, 1.16092e-4, -5.77905e-7];
const A_BY_SALT = [2.2838e-3, -1.0981e-5, -1.6078e-6];
const A_BY_SALT_ROOT = 1.91075e-4;
const B = [8.50935e-5, -6.12293e-6, 5.2787e-8];
const B_BY_SALT = [-9.9348e-7, 2.0816e-8, 9.1697e-10];

export const EOS80 = 'EOS-80 (UNESCO Technical Papers in Marine Science 44)';

/**
 * kg/m³ by the older standard, which differs from TEOS-10 by at most 0.006 kg/m³ in tank water. Practical salinity
 * 0-42, -2 to 40 °C (ITS-90), 0 to 10,000 dbar above one atmosphere.
 */
export function eos80DensityKgM3({ salinityPpt, temperatureC }: Water, pressureDbar: number = 0): number {
  const s = within(salinityPpt, SALINITY);
  const t = ipts68(within(temperatureC, TEMPERATURE));
  const bar = within(pressureDbar, SEA_PRESSURE) / 10;
  const root = s * Math.sqrt(s);
  const atSurface =
    polynomial(PURE, t) + polynomial(BY_SALT, t) * s + polynomial(BY_SALT_ROOT, t) * root + BY_SALT_SQUARE * s * s;
  if (bar === 0) return atSurface;
  const stiffness =
    polynomial(STIFFNESS, t) + polynomial(STIFFNESS_BY_SALT, t) * s + polynomial(STIFFNESS_BY_SALT_ROOT, t) * root;
  const a = polynomial(A, t) + polynomial(A_BY_SALT, t) * s + A_BY_SALT_ROOT * root;
  const b = polynomial(B, t) + polynomial(B_BY_SALT, t) * s;
  return atSurface / (1 - bar / (stiffness + bar * (a + bar * b)));
}
