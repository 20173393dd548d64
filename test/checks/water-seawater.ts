import {
  absoluteSalinity,
  type Convention,
  conductivityMsCm,
  conservativeTemperatureC,
  densityKgM3,
  eos80DensityKgM3,
  freshForBatchL,
  gravityOf,
  heatCapacityJKgK,
  hydrometerSalinity,
  latentHeatJKg,
  oxygenSaturationMgL,
  oxygenSaturationUmolKg,
  practicalOfAbsolute,
  practicalSalinity,
  pureDensityKgM3,
  pureSaltG,
  refractiveIndex,
  refractometerSalinity,
  salinityBetween,
  salinityOfGravity,
  salinityOfRatioAtTemperature,
  saltGPerL,
  waterActivity,
} from '../../src/water/index.ts';
import type { Solvers } from './types.ts';

// The published values of PSS-78 and EOS-80 are at temperatures of IPTS-68.
const t90 = (t68: number): number => t68 / 1.00024;
/** Temperature under whichever name the row gives it. */
type At = {
  readonly t_C?: number;
  readonly t_degC?: number;
  readonly t90_C?: number;
  readonly t68_C?: number;
  readonly t68_degC?: number;
  readonly t_degC_ITS90?: number;
};
const temperatureOf = (at: At): number => {
  const t68 = at.t68_C ?? at.t68_degC;
  if (t68 !== undefined) return t90(t68);
  return at.t_C ?? at.t_degC ?? at.t90_C ?? at.t_degC_ITS90 ?? 25;
};
type Salt = { readonly S?: number; readonly SP?: number; readonly SP_target?: number };
const saltOf = ({ S, SP, SP_target }: Salt): number => S ?? SP ?? SP_target ?? 0;
const waterOf = (inputs: At & Salt) => ({ salinityPpt: saltOf(inputs), temperatureC: temperatureOf(inputs) });
type Absolute = At & { readonly SA_g_kg: number; readonly p_dbar?: number };
const absoluteOf = (inputs: Absolute) => ({
  salinityPpt: practicalOfAbsolute(inputs.SA_g_kg),
  temperatureC: temperatureOf(inputs),
});

const SIXTY_F_C = 140 / 9;
/** Sample and reference temperature of a convention as the rows word it. */
function between(text: string): readonly [number, number] {
  const [, sample = '', water = ''] = /^d(\d+F?)\/(\d+F?)/.exec(text) ?? [];
  const read = (one: string): number => (one.endsWith('F') ? SIXTY_F_C : Number(one));
  return [read(sample), read(water)];
}

export const SEAWATER_SOLVERS: Solvers = {
  conductivity: ({ SP, p_dbar = 0, ...at }: At & { SP: number; p_dbar?: number; t_C?: number | number[] }) =>
    Array.isArray(at.t_C)
      ? at.t_C.map((each) => conductivityMsCm(SP, each))
      : conductivityMsCm(SP, temperatureOf(at as At), p_dbar),
  conductivityOfStandard: (inputs: At & Salt) => conductivityMsCm(saltOf(inputs), temperatureOf(inputs)),
  conductivityRatio: (inputs: At & Salt) => conductivityMsCm(saltOf(inputs), temperatureOf(inputs)) / 42.914,
  salinityFromConductivity: ({ C_mS_cm, p_dbar = 0, ...at }: At & { C_mS_cm: number; p_dbar?: number }) =>
    practicalSalinity({ conductivityMsCm: C_mS_cm, temperatureC: temperatureOf(at), pressureDbar: p_dbar }),
  pss78Ratio: ({ R, p_dbar, ...at }: At & { R: number; p_dbar: number }) =>
    practicalSalinity({ conductivityMsCm: R * 42.914, temperatureC: temperatureOf(at), pressureDbar: p_dbar }),
  salinometer: ({ Rt, ...at }: At & { Rt: number }) => salinityOfRatioAtTemperature(Rt, temperatureOf(at)),
  eos80: (inputs: At & Salt & { p_dbar?: number }) => eos80DensityKgM3(waterOf(inputs), inputs.p_dbar),
  pureDensity: (at: At) => pureDensityKgM3(temperatureOf(at)),
  densityAbsolute: (inputs: Absolute) => densityKgM3(absoluteOf(inputs), inputs.p_dbar),
  heatCapacityAbsolute: (inputs: Absolute) => heatCapacityJKgK(absoluteOf(inputs), inputs.p_dbar),
  latentHeatAbsolute: (inputs: Absolute) => latentHeatJKg(absoluteOf(inputs)),
  heatCapacityTeos: (inputs: At & Salt) => ({ cp_teos10: heatCapacityJKgK(waterOf(inputs)) }),
  heatCapacity: (inputs: At & Salt) => heatCapacityJKgK(waterOf(inputs)),
  latentHeat: (inputs: At & Salt) => latentHeatJKg(waterOf(inputs)),
  waterActivity: (inputs: At & Salt) => waterActivity(waterOf(inputs)),
  gswGrid: (inputs: At & Salt) => {
    const water = waterOf(inputs);
    return {
      rho_kg_m3: densityKgM3(water),
      C_mS_cm: conductivityMsCm(water.salinityPpt, water.temperatureC),
      rho_EOS80_kg_m3: eos80DensityKgM3(water),
    };
  },
  waterGrid: (inputs: At & Salt) => {
    const water = waterOf(inputs);
    return {
      density: densityKgM3(water),
      heatCapacity: heatCapacityJKgK(water),
      conservativeTemperature: conservativeTemperatureC(water),
      conductivity: conductivityMsCm(water.salinityPpt, water.temperatureC),
      latentHeat: latentHeatJKg(water),
      activity: waterActivity(water),
      oxygen: oxygenSaturationUmolKg(water),
      eos80: eos80DensityKgM3(water),
    };
  },
  seagrid: (inputs: At & Salt) => {
    const water = waterOf(inputs);
    const s = water.salinityPpt;
    return {
      rho_teos10_kg_m3: densityKgM3(water),
      rho_eos80_kg_m3: eos80DensityKgM3(water),
      rho_over_water60F: densityKgM3(water) / pureDensityKgM3(SIXTY_F_C),
      sg60F_60F_of_this_SP: gravityOf(s, '60F/60F'),
      sg20_20_of_this_SP: gravityOf(s, '20/20'),
      sg25_25_of_this_SP: gravityOf(s, '25/25'),
      C_mS_cm: conductivityMsCm(s, water.temperatureC),
      C25_mS_cm: conductivityMsCm(s, 25),
    };
  },
  saltGPerL: (inputs: At & Salt) => saltGPerL(waterOf(inputs)),
  saltKg: ({ volume_L, ...inputs }: At & Salt & { volume_L: number }) => pureSaltG(volume_L, waterOf(inputs)) / 1000,
  mixRecipe: ({ V_L, ...inputs }: At & Salt & { V_L: number }) => {
    const water = waterOf(inputs);
    const total = (V_L * densityKgM3(water)) / 1000;
    const salt = (total * absoluteSalinity(water.salinityPpt)) / 1000;
    return {
      mass_total_kg: total,
      salt_kg: pureSaltG(V_L, water) / 1000,
      water_kg: total - salt,
      water_L_at_25C: freshForBatchL(V_L, water),
    };
  },
  gravities: ({ SP }: { SP: number }) => ({
    SG_25_25: gravityOf(SP, '25/25'),
    SG_20_20: gravityOf(SP, '20/20'),
    SG_60F_60F: gravityOf(SP, '60F/60F'),
    rho25_over_rhow4: gravityOf(SP, '25/4'),
  }),
  gravitiesInverse: ({ SG }: { SG: number }) => ({
    SP_if_25_25: salinityOfGravity(SG, '25/25'),
    SP_if_60F_60F: salinityOfGravity(SG, '60F/60F'),
  }),
  gravityInverse: ({ sg, convention }: { sg: number | number[]; convention: string }) => {
    const [sample, water] = between(convention);
    return Array.isArray(sg)
      ? sg.map((each) => salinityBetween(each, sample, water))
      : salinityBetween(sg, sample, water);
  },
  gravityBothWays: ({ sg, convention }: { sg: number; convention: Convention }) => {
    const salinity = salinityOfGravity(sg, convention);
    return { salinity, gravity: gravityOf(salinity, convention) };
  },
  claimRange: ({ sg }: { sg: number[] }) => sg.map((each) => salinityOfGravity(each, '25/25')),
  ruleOfThumb: ({ convention }: { convention: Convention }) => ({
    salinity: salinityOfGravity(1.0264, convention),
    gravity: gravityOf(35, convention),
  }),
  hydrometer60F: ({ reading, t_degF }: { reading: number; t_degF: number }) =>
    hydrometerSalinity({ gravity: reading, temperatureC: ((t_degF - 32) * 5) / 9, scaleC: SIXTY_F_C }).value,
  hydrometer: ({ r, t_degC, t_cal_degC, gamma_per_K }: Readonly<Record<string, number>>) =>
    hydrometerSalinity({
      gravity: r ?? 0,
      temperatureC: t_degC ?? 0,
      scaleC: t_cal_degC ?? 0,
      glassPerC: gamma_per_K ?? 0,
    }).value,
  refractiveIndex: ({ S, t_degC }: { S: number; t_degC: number }) => refractiveIndex(S, t_degC),
  refractometerDrift: ({ S, t_degC }: { S: number; t_degC: number }) => {
    const step = 0.01;
    // The index is straight in salinity, so one side tells the slope, at no salt, too.
    const bySalt = (refractiveIndex(S + step, t_degC) - refractiveIndex(S, t_degC)) / step;
    const byWarmth = (refractiveIndex(S, t_degC + step) - refractiveIndex(S, t_degC - step)) / (2 * step);
    // A sample a degree warmer than its scale, of an instrument that does not correct.
    const truth = refractometerSalinity({
      readingPpt: S,
      temperatureC: t_degC + 1,
      scaleC: t_degC,
      compensated: false,
    });
    return { dn_dS: bySalt, dn_dT: byWarmth, apparent_dS_per_degC_no_ATC: S - truth.value };
  },
  oxygenUmol: (inputs: At & Salt) => oxygenSaturationUmolKg(waterOf(inputs)),
  oxygenFresh: ({ t_degC }: { t_degC: number[] }) =>
    t_degC.map((temperatureC) => oxygenSaturationMgL({ salinityPpt: 0, temperatureC })),
  oxygenMg: (inputs: At & Salt) => oxygenSaturationMgL(waterOf(inputs)),
};
