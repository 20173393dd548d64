import {
  awgAreaMm2,
  awgDiameterMm,
  CONNECTOR_SHARE,
  connectorLoad,
  DROP_LIMIT,
  dewPointC,
  drivingPressurePa,
  evaporationKgS,
  FLEXIBLE_OHM_PER_KM,
  headRoom,
  heatBatch,
  holdW,
  hoursToC,
  humidityRatio,
  if97SaturationPressurePa,
  latentHeatJKg,
  leadDrop,
  litresPerCm,
  lossFromNight,
  ohmPerM,
  pureDensityKgM3,
  rateCPerH,
  STRANDED_OHM_PER_KM,
  saturationPressurePa,
  settlesAtC,
  storeWhPerC,
  temperatureAfterC,
  timeConstantH,
  vapourPressurePa,
} from '../../src/water/index.ts';
import type { Solvers } from './types.ts';

type Numbers = Readonly<Record<string, number>>;
const temperature = (inputs: Numbers): number => inputs['t_degC'] ?? inputs['t_C'] ?? Number.NaN;
const body = (inputs: Numbers) => ({
  volumeL: inputs['V_L'] ?? 0,
  lossWPerC: inputs['UA_W_K'] ?? 0,
  roomC: inputs['T_room'] ?? 0,
  heatW: inputs['heater_W'] ?? 0,
});
const JOULE_PER_WH = 3600;
const FEET_M = 0.3048;

/** One conductor of a gauge under the names the rows use. */
const gauge = (awg: number) => ({
  d_mm: awgDiameterMm(awg),
  diameter_mm: awgDiameterMm(awg),
  area_mm2: awgAreaMm2(awg),
  ohm_per_m: ohmPerM({ awg }),
  ohm_per_km: ohmPerM({ awg }) * 1000,
  ohm_per_1000ft: ohmPerM({ awg }) * FEET_M * 1000,
});
const dropped = ({ dropV, share, lossW }: ReturnType<typeof leadDrop>) => ({
  drop_V: dropV,
  percent: 100 * share,
  loss_W: lossW,
});

export const HEAT_SOLVERS: Solvers = {
  air: ({ t_degC, RH }: { t_degC: number; RH: number }) => ({
    pw_Pa: vapourPressurePa(t_degC, RH),
    dewpoint_degC: dewPointC(t_degC, RH),
    humratio: humidityRatio(t_degC, RH),
  }),
  saturation: (inputs: Numbers) => saturationPressurePa(temperature(inputs)),
  saturationBy: (inputs: Numbers) => ({
    psychrolib: saturationPressurePa(temperature(inputs)),
    iapws97: if97SaturationPressurePa(temperature(inputs)),
    // The short form of the same association's standard.
    iapws95: if97SaturationPressurePa(temperature(inputs)),
  }),
  if97: ({ T_K }: { T_K: number }) => if97SaturationPressurePa(T_K - 273.15) / 1e6,
  evaporationTank: (inputs: Record<'A_m2' | 't_water' | 't_air' | 'RH' | 'v_m_s' | 'salt_factor', number>) => {
    const driving =
      inputs.salt_factor * saturationPressurePa(inputs.t_water) - vapourPressurePa(inputs.t_air, inputs.RH);
    const latent = latentHeatJKg({ salinityPpt: 35, temperatureC: inputs.t_water });
    const kgS = evaporationKgS(inputs.A_m2, driving, inputs.v_m_s, latent);
    const litres = (kgS * 86_400 * 1000) / pureDensityKgM3(inputs.t_water);
    return { W_kg_s: kgS, L_per_day: litres, 'undisturbed_x0.74_L_per_day': 0.74 * litres };
  },
  evaporationCoefficients: () => {
    const at = (airMS: number): number => evaporationKgS(1, 1, airMS, 1);
    return { a: at(0), b: at(1) - at(0), SI_a: at(0), SI_b: at(1) - at(0) };
  },
  driving: (inputs: Numbers) => {
    const at = (waterC: number, roomC: number, humidity: number): number =>
      drivingPressurePa({ water: { salinityPpt: 0, temperatureC: waterC }, roomC, humidity }) / 1000;
    return inputs['RH'] === undefined
      ? at(25, 22, 0.5)
      : at(inputs['t_water_C'] ?? 0, inputs['t_air_C'] ?? 0, inputs['RH']);
  },
  heatStore: ({ V_L }: { V_L: number }) => storeWhPerC(V_L),
  cooling: (inputs: Numbers) => temperatureAfterC(body(inputs), inputs['T0'] ?? 0, inputs['hours'] ?? Number.NaN),
  heating: (inputs: Numbers) => ({
    T: temperatureAfterC(body(inputs), inputs['T0'] ?? 0, inputs['hours'] ?? Number.NaN),
    tau_h: timeConstantH(body(inputs)),
    T_inf: settlesAtC(body(inputs)),
  }),
  duty: ({ T, T_room, UA_W_K, heater_W }: Record<'T' | 'T_room' | 'UA_W_K' | 'heater_W', number>) =>
    holdW(UA_W_K, T, T_room) / heater_W,
  steadyPower: ({ T, T_room, UA_W_K }: Record<'T' | 'T_room' | 'UA_W_K', number>) => holdW(UA_W_K, T, T_room),
  hold: ({ UA_W_K, T_set, T_room, heater_W }: Record<'UA_W_K' | 'T_set' | 'T_room' | 'heater_W', number>) => ({
    watts: holdW(UA_W_K, T_set, T_room),
    duty: holdW(UA_W_K, T_set, T_room) / heater_W,
  }),
  learnedLoss: ({ T0, T_4h, T_room, C_J_K }: Record<'T0' | 'T_4h' | 'T_room' | 'C_J_K', number>) =>
    lossFromNight(C_J_K / (storeWhPerC(1) * JOULE_PER_WH), {
      hours: 4,
      fromC: T0,
      toC: T_4h,
      roomC: T_room,
      heatWh: 0,
    }),
  warmBatch: ({ V_L, from_C, to_C, P_W }: Record<'V_L' | 'from_C' | 'to_C' | 'P_W', number>) =>
    heatBatch(V_L, from_C, to_C, P_W).hours.low,
  raise: ({ V_L, dT_K, P_W }: Record<'V_L' | 'dT_K' | 'P_W', number>) => ({
    C_J_K: storeWhPerC(V_L) * JOULE_PER_WH,
    hours_no_loss: heatBatch(V_L, 25, 25 + dT_K, P_W).hours.low,
  }),
  riseRate: ({ V_L, P_W }: { V_L: number; P_W: number }) => {
    const rate = rateCPerH({ volumeL: V_L, lossWPerC: 1, roomC: 25, heatW: P_W }, 25);
    return { K_per_h: rate, h_per_K: 1 / rate };
  },
  timeConstant: (inputs: Numbers) => {
    const hours = timeConstantH(body(inputs));
    return { tau_h: hours, tau_s: hours * 3600 };
  },
  timeTo: (inputs: Numbers) => ({ h: hoursToC(body(inputs), inputs['T0'] ?? 0, inputs['target'] ?? 0) }),
  boxLitres: ({ L_m, W_m, drop_mm }: Record<'L_m' | 'W_m' | 'drop_mm', number>) =>
    litresPerCm(L_m * W_m) * (drop_mm / 10),
  boxLitresCm: (inputs: { display_cm: [number, number]; return_nozzle_below_surface_cm: number }) => {
    const [length, width] = inputs.display_cm;
    return litresPerCm((length * width) / 1e4) * inputs.return_nozzle_below_surface_cm;
  },
  drainSpare: ({ sump_free_L, drain_L }: { sump_free_L: number; drain_L: number }) =>
    headRoom(1, 0, sump_free_L, { normalL: drain_L, blockedL: drain_L, roomL: drain_L }).spareL,
  awg: (inputs: { awg?: number; AWG?: number }) => gauge(inputs.awg ?? inputs.AWG ?? Number.NaN),
  iec60228: ({ area_mm2 }: { area_mm2: number }) => ({
    class5_plain: FLEXIBLE_OHM_PER_KM[String(area_mm2)] ?? null,
    class1_2_plain: STRANDED_OHM_PER_KM[String(area_mm2)] ?? null,
  }),
  vdropAwg: ({ awg, one_way_m, I_A, V }: Record<'awg' | 'one_way_m' | 'I_A' | 'V', number>) =>
    dropped(leadDrop({ wire: { awg }, lengthCm: 100 * one_way_m, currentA: I_A, supplyV: V })),
  vdropMetric: (inputs: Record<'I_A' | 'one_way_m' | 'ohm_per_km' | 'supply_V', number>) =>
    dropped(
      leadDrop({
        wire: { mm2: inputs.ohm_per_km === 26 ? 0.75 : 1.5 },
        lengthCm: 100 * inputs.one_way_m,
        currentA: inputs.I_A,
        supplyV: inputs.supply_V,
      }),
    ),
  // Without a rating the row speaks of the share.
  connector: ({ rated_A }: { rated_A?: number }) =>
    rated_A === undefined ? CONNECTOR_SHARE : connectorLoad(1, rated_A).continuousA,
  dropLimit: ({ branch }: { branch?: number }) => (branch === undefined ? 100 * DROP_LIMIT : { branch: DROP_LIMIT }),
};
