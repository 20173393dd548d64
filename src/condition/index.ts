// What monitored signals say of equipment and parts: learned signatures, drift, steps, trends, out of range. Pure.
// Belongs here: from minutes of power and observations to findings. Not here: dates (forecast/), what to tell (remind/).
export * from './monitor.ts';
export { conditionEntities, conditionSetup, PARTS_OF } from './setup.ts';
export * from './stats/index.ts';
export * from './types.ts';
