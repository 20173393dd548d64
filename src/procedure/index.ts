// A job and a tank become a plan (closure, down, work, restore); events move a session along it (engine). Pure and
// deterministic: same events, same state. Belongs here: order, proof, hold points, claims. Not here: sending anything.
export { buildPlan } from './build.ts';
export type { PlanOptions } from './closure.ts';
export { type Judgement, judgeConfirmation } from './confirm.ts';
export * from './context.ts';
export { driverShows, driverTells } from './driver.ts';
export { advance, asStarted, begin, replay } from './engine.ts';
export { type LeftBehind, leftBehind } from './left.ts';
export { type Memory, memoryEntries, recalled } from './memory.ts';
export { type Offered, offeredProcedures } from './offered.ts';
export * from './press.ts';
export { BEGIN_STEP, RELEASE_STEP, RESUME_STEP } from './prompts.ts';
export * from './rehearse.ts';
export * from './started-tank.ts';
export * from './types.ts';
export { cameOnByItself } from './watch.ts';
