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
  const y = temperatureC / TEMPERATURE_SCALE_C;
  const z = (pressureDbar * DBAR_PA) / PRESSURE_SCALE_PA;
  const x = Math.sqrt(salinityGKg / SALINITY_SCALE);
  const sum = { g: 0, y: 0, yy: 0, z: 0, potential: 0 };
  const add = (value: number, atX: number, onY: number, onZ: number, potentialShare: number): void => {
    const xPart = value * atX;
    sum.g += xPart * y ** onY * z ** onZ;
    if (onY > 0) sum.y += xPart * onY * y ** (onY - 1) * z ** onZ;
    if (onY > 1) sum.yy += xPart * onY * (onY - 1) * y ** (onY - 2) * z ** onZ;
    if (onZ > 0) sum.z += xPart * y ** onY * onZ * z ** (onZ - 1);
    sum.potential += xPart * y ** onY * z ** onZ * potentialShare;
  };
  for (const [onY, onZ, value] of WATER_TERMS) add(value, 1, onY, onZ, 1);
  // Salinity times the derivative of xⁿ by salinity is n/2 xⁿ.
  for (const [onX, onY, onZ, value] of SALT_TERMS) add(value, x ** onX, onY, onZ, 1 - onX / 2);
  if (x > 0) {
    const [plain, withY] = SALT_LOG_TERMS;
    const atX = x * x * Math.log(x);
    for (const [onY, value] of [
      [0, plain],
      [1, withY],
    ] as const)
      add(value, atX, onY, 0, 0);
    // x² ln x less its salinity times derivative, which is x² (ln x + 1/2).
    sum.potential -= ((plain + withY * y) * x * x) / 2;
  }
  return {
    g: sum.g,
    gT: sum.y / TEMPERATURE_SCALE_C,
    gTT: sum.yy / TEMPERATURE_SCALE_C ** 2,
    gP: sum.z / PRESSURE_SCALE_PA,
    waterPotential: sum.potential,
  };
}

/** Absolute salinity, g/kg, of water with the composition of the standard ocean; a salt mix may differ by some 0.1 g/kg. */
export function absoluteSalinity(practical: number): number {
  return (practical * STANDARD_OCEAN_G_KG) / 35;
}

export function practicalOfAbsolute(absoluteGKg: number): number {
  return (absoluteGKg * 35) / STANDARD_OCEAN_G_KG;
}
