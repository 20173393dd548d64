// Observations become usage with bounds. A pure fold: same observations, same amounts, however they were delivered.
// Belongs here: what an observation adds, resets, doubts, periods over slices. Not here: limits and what they mean.
export { moveClock } from './clock-set.ts';
export { type Column, foldColumns } from './columns.ts';
export {
  foldedMeasures,
  hasOpenPast,
  SHORTEST_ACTUATION_MS,
  SHORTEST_CYCLE_MS,
  SHORTEST_PULSE_MS,
  sourceEntities,
} from './counter.ts';

export { createFolder, type Folder, foldObservations, initialState, initialStates, project } from './fold.ts';
export { GRAINS_PER_UNIT, inUnits } from './grains.ts';
export { type Period, type PeriodUsage, passedSlices, periodUsage } from './periods.ts';
export * from './types.ts';
export * from './usage.ts';
