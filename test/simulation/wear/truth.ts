// What is really the matter with the simulated tank at a moment: all well, but for what was planted.

/** Every share is of the healthy value; zero and one mean "nothing the matter". */
export type Truth = {
  tubesOut: number;
  bankDead: boolean;
  light: number;
  uvOut: boolean;
  circulation: { watts: number; spread: number; still: boolean };
  returnPump: { watts: number; dry: boolean };
  skimmer: number;
  heater2: { watts: number; intoWater: number; welded: boolean };
  displayProbeC: number;
  fan: number;
  floatStuck: boolean;
  /** Share of runs in which the float hangs for a while. */
  floatHangs: number;
  lineFallCm: number;
  band: number;
  topOffRate: number;
  storeEmpty: boolean;
  siphon: boolean;
  rise: number;
  productMgPerL: number;
  rejection: number;
  leakLPerH: number;
  heatSpell: boolean;
};

export const healthy = (): Truth => ({
  tubesOut: 0,
  bankDead: false,
  light: 1,
  uvOut: false,
  circulation: { watts: 1, spread: 1, still: false },
  returnPump: { watts: 1, dry: false },
  skimmer: 1,
  heater2: { watts: 1, intoWater: 1, welded: false },
  displayProbeC: 0,
  fan: 1,
  floatStuck: false,
  floatHangs: 0,
  lineFallCm: 0,
  band: 1,
  topOffRate: 1,
  storeEmpty: false,
  siphon: false,
  rise: 1,
  productMgPerL: 0,
  rejection: 0.97,
  leakLPerH: 0,
  heatSpell: false,
});
