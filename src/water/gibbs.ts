import { SALT_LOG_TERMS, SALT_TERMS, WATER_TERMS } from './gibbs-terms.ts';

/** Absolute salinity of the standard ocean, g/kg, at practical salinity 35. */
const STANDARD_OCEAN_G_KG = 35.16504;
const SALINITY_SCALE = (40 * STANDARD_OCEAN_G_KG) / 35;
const TEMPERATURE_SCALE_C = 40;
const PRESSURE_SCALE_PA = 1e8;
const DBAR_PA = 1e4;
export const ZERO_C_IN_K = 273.15;

/** Specific Gibbs energy of seawater, J/kg, and the derivatives that properties are made of. */
export type Gibbs = {
  readonly g: number;
  /** By temperature, J/(kg K), and twice by it. */
  readonly gT: number;
  readonly gTT: number;
  /** By pressure: the specific volume, m³/kg. */
  readonly gP: number;
  /** Chemical potential of the water in it, J/kg: g less salinity times its derivative by salinity. */
  readonly waterPotential: number;
};

/**
 * TEOS-10: IAPWS R13-08 (salt) on IAPWS SR7-09 (water). `salinityGKg` absolute, temperature ITS-90, `pressureDbar`
 * above one standard atmosphere.
 */
export function gibbs(salinityGKg: number, temperatureC: number, pressureDbar: number = 0): Gibbs {
  const [xs, ys, zs] = [
    powers(Math.sqrt(salinityGKg / SALINITY_SCALE)),
    powers(temperatureC / TEMPERATURE_SCALE_C),
    powers((pressureDbar * DBAR_PA) / PRESSURE_SCALE_PA),
  ];
  const at = (list: readonly number[], power: number): number => (power < 0 ? 0 : (list[power] ?? 0));
  const sum = { g: 0, y: 0, yy: 0, z: 0, potential: 0 };
  const add = (atX: number, onY: number, onZ: number, potentialShare: number): void => {
    const whole = atX * at(ys, onY) * at(zs, onZ);
    sum.g += whole;
    sum.y += atX * onY * at(ys, onY - 1) * at(zs, onZ);
    sum.yy += atX * onY * (onY - 1) * at(ys, onY - 2) * at(zs, onZ);
    sum.z += atX * at(ys, onY) * onZ * at(zs, onZ - 1);
    sum.potential += whole * potentialShare;
  };
  for (const [onY, onZ, value] of WATER_TERMS) add(value, onY, onZ, 1);
  // Salinity times the derivative of xⁿ by salinity is n/2 xⁿ.
  for (const [onX, onY, onZ, value] of SALT_TERMS) add(value * at(xs, onX), onY, onZ, 1 - onX / 2);
  const [x, square] = [at(xs, 1), at(xs, 2)];
  // Its limit at no salt is nothing.
  if (square > 0) {
    const [plain, withY] = SALT_LOG_TERMS;
    add(plain * square * Math.log(x), 0, 0, 0);
    add(withY * square * Math.log(x), 1, 0, 0);
    // x² ln x less its salinity times derivative, which is x² (ln x + 1/2).
    sum.potential -= ((plain + withY * at(ys, 1)) * square) / 2;
  }
  return {
    g: sum.g,
    gT: sum.y / TEMPERATURE_SCALE_C,
    gTT: sum.yy / TEMPERATURE_SCALE_C ** 2,
    gP: sum.z / PRESSURE_SCALE_PA,
    waterPotential: sum.potential,
  };
}

/** Zeroth to seventh power, the highest of the standard. */
function powers(of: number): readonly number[] {
  const list = [1];
  for (let power = 1; power <= 7; power += 1) list.push((list[power - 1] ?? 0) * of);
  return list;
}

/** Absolute salinity, g/kg, of water with the composition of the standard ocean; a salt mix may differ by some 0.1 g/kg. */
export function absoluteSalinity(practical: number): number {
  return (practical * STANDARD_OCEAN_G_KG) / 35;
}

export function practicalOfAbsolute(absoluteGKg: number): number {
  return (absoluteGKg * 35) / STANDARD_OCEAN_G_KG;
}
