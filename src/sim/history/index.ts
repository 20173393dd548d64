// The recorded past of the demo tank, made from a seed: what really ran (truth) and what the hub kept of it (series).
export { CLOSURES, FITTED_DAYS, METERS_AT_START, OVERHAUL_DAY } from './facts.ts';
export { createPast, type PastOptions, type RecordedPast } from './past.ts';
export { createRuns, createTotal, type Runs, type SimTruth, type Total, type WaterKind } from './truth.ts';
