import {
  afterBatches,
  afterFlow,
  batchesFor,
  brineToAddL,
  flowAgainstRise,
  flowFor,
  freshToAddL,
  mixed,
  oneBatchFor,
  pureSaltToRaiseG,
  salinityAfterEvaporation,
  salinityAfterFresh,
  salinityAfterSaltTopOff,
  steadyBatches,
  steadyFlow,
  swapL,
  temperatureStep,
} from '../../src/water/index.ts';
import type { Solvers } from './types.ts';

/** Rows name the same quantity in several ways; those that are there are numbers. */
type Numbers = Readonly<Record<string, number>>;
const of = (inputs: Numbers, ...names: readonly string[]): number => {
  for (const name of names) if (inputs[name] !== undefined) return inputs[name];
  throw new Error(`no ${names.join(' or ')} among ${Object.keys(inputs).join(', ')}`);
};
/** "3/20" is exact in the rows. */
const fractionOf = (text: string | number): number => {
  const [over = 1, under = 1] = String(text).split('/').map(Number);
  return over / under;
};
const targetOf = (inputs: Numbers) => ({
  now: of(inputs, 'c0', 'C0'),
  added: inputs['c_in'] ?? inputs['Cnew'] ?? 0,
  target: of(inputs, 'target'),
});
const drift = (inputs: Numbers) => ({
  volumeL: of(inputs, 'tank_L'),
  salinityPpt: of(inputs, 'SP0', 'S'),
  temperatureC: inputs['t_degC'] ?? 25,
});

export const CHANGE_SOLVERS: Solvers = {
  batches: ({ C0, Cnew, fraction, changes }: Record<'C0' | 'Cnew' | 'fraction' | 'changes', number>) =>
    afterBatches(C0, Cnew, fraction, changes),
  batchAgainstFlow: ({ C0, exchanged_L, tank_L }: Record<'C0' | 'exchanged_L' | 'tank_L', number>) => ({
    batch_one: afterBatches(C0, 0, exchanged_L / tank_L, 1),
    continuous: afterFlow(C0, 0, exchanged_L, tank_L),
    five_of_10L: afterBatches(C0, 0, exchanged_L / 5 / tank_L, 5),
  }),
  flow: ({ C0, Cnew, exchanged_L, tank_L }: Record<'C0' | 'Cnew' | 'exchanged_L' | 'tank_L', number>) =>
    afterFlow(C0, Cnew, exchanged_L, tank_L),
  batchCount: (inputs: Numbers) => batchesFor(targetOf(inputs), of(inputs, 'fraction')),
  batchSeries: (inputs: { c0: number; c_in: number; fraction: string; n: number }) =>
    Array.from({ length: inputs.n + 1 }, (_, times) =>
      afterBatches(inputs.c0, inputs.c_in, fractionOf(inputs.fraction), times),
    ),
  washout: ({ V_over_tank }: { V_over_tank: number[] }) =>
    V_over_tank.map((each) => (each === 0 ? 1 : afterFlow(1, 0, each, 1))),
  flowAgainstRise: (inputs: { tank_L: number; drip_L_day: number; production_mg_L_day: number; t_days: number[] }) =>
    inputs.t_days.map((days) => flowAgainstRise(0, inputs.production_mg_L_day, inputs.drip_L_day, inputs.tank_L, days)),
  changesToHalve: ({ fraction_per_change }: { fraction_per_change: number[] }) =>
    fraction_per_change.map((each) => batchesFor({ now: 2, added: 0, target: 1 }, each).exact),
  changesForTarget: (inputs: Numbers) => {
    const wanted = targetOf(inputs);
    const { whole } = batchesFor(wanted, of(inputs, 'fraction'));
    const after = (times: number): number => afterBatches(wanted.now, wanted.added, of(inputs, 'fraction'), times);
    return { n: whole, c_after_n_minus_1: after(whole - 1), c_after_n: after(whole) };
  },
  oneBatch: (inputs: Numbers) => oneBatchFor(targetOf(inputs), of(inputs, 'tank_L')),
  flowForTarget: (inputs: Numbers) => flowFor(targetOf(inputs), of(inputs, 'tank_L')),
  steadyBatches: (inputs: Record<'production_per_day' | 'interval_d' | 'fraction' | 'Cnew', number>) => {
    const { before, after, mean } = steadyBatches(
      inputs.production_per_day * inputs.interval_d,
      inputs.fraction,
      inputs.Cnew,
    );
    return { before_change: before, after_change: after, time_mean: mean };
  },
  steadyInterval: (inputs: Numbers) => {
    const { before, after } = steadyBatches(of(inputs, 'production_per_interval'), of(inputs, 'fraction'));
    return { just_before_change: before, just_after_change: after };
  },
  steadyFlow: (inputs: Numbers) =>
    steadyFlow(of(inputs, 'production_per_day'), of(inputs, 'exchange_L_per_day'), of(inputs, 'tank_L')),
  mixed: (
    inputs: { parts_L_S?: [number, number][] } & Partial<Record<'new_L' | 'S_new' | 'old_L' | 'S_old', number>>,
  ) =>
    mixed(
      inputs.parts_L_S ?? [
        [inputs.new_L ?? 0, inputs.S_new ?? 0],
        [inputs.old_L ?? 0, inputs.S_old ?? 0],
      ],
    ),
  temperatureMix: (inputs: Record<'old_L' | 't_old' | 'new_L' | 't_new', number>) =>
    temperatureStep(inputs.new_L, inputs.old_L + inputs.new_L, inputs.t_old, inputs.t_new, 1).after,
  swap: (inputs: Numbers) =>
    swapL(of(inputs, 'tank_L'), of(inputs, 'S_now'), of(inputs, 'S_new'), of(inputs, 'S_target')),
  brineSwap: (inputs: Numbers) =>
    swapL(of(inputs, 'tank_L'), of(inputs, 'S0'), of(inputs, 'S_brine'), of(inputs, 'S_target')),
  brineToAdd: (inputs: Numbers) =>
    brineToAddL(of(inputs, 'tank_L'), of(inputs, 'S0'), of(inputs, 'S_brine'), of(inputs, 'S_target')),
  freshToAdd: (inputs: Numbers) =>
    freshToAddL({
      volumeL: of(inputs, 'tank_L'),
      salinityPpt: of(inputs, 'S0'),
      targetPpt: of(inputs, 'S_target'),
      temperatureC: 25,
    }),
  saltToRaise: (inputs: Numbers) => pureSaltToRaiseG({ ...drift(inputs), targetPpt: of(inputs, 'SP_target') }),
  evaporationByMass: (inputs: Numbers) =>
    salinityAfterEvaporation(drift(inputs), of(inputs, 'evaporated_L_of_pure_water_at_25C')),
  // Volumes taken as equal: what is left of 200 L holds the salt of 200 L.
  evaporationByVolume: ({ tank_L, S, evaporated_L }: Record<'tank_L' | 'S' | 'evaporated_L', number>) =>
    mixed([[tank_L, S]]) * (tank_L / (tank_L - evaporated_L)),
  freshTooMuch: (inputs: Numbers) => salinityAfterFresh(drift(inputs), of(inputs, 'fresh_L')),
  saltTopOff: (inputs: Record<'tank_L' | 'S0' | 'evap_L_day' | 'days' | 'topoff_S', number>) =>
    salinityAfterSaltTopOff(inputs.tank_L, inputs.S0, inputs.evap_L_day * inputs.days, inputs.topoff_S),
};
