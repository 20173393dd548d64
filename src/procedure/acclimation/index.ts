// The weeks after a lamp set change: the service has the lamp's driver, lights it for the share of the day and hands it back.
// Pure. Belongs here: the share of each day, usual hours, one programme from start to hand-back. Not here: sending anything.
export * from './context.ts';
export * from './day.ts';
export { acclimationStep, judgeStart, lampOf, NO_PROGRAMMES, restoredProgrammes, type StartVerdict } from './engine.ts';
export * from './hours.ts';
export * from './share.ts';
export * from './types.ts';
export * from './words.ts';
