// The machine underneath: clock, timers, random, log. The one place that may ask the real time; beside the real ones stand
// an accelerated system (demonstration, real-hub tests) and a virtual one that only moves when told.
export { keptLog, type LogOptions, lineLog } from './log.ts';
export { type RealTimers, realClock, realRandom, realSystem, realTimers, type TimerOptions } from './real.ts';
export { scaledSystem } from './scaled.ts';
export { seededRandom } from './seeded.ts';
export { type VirtualSystem, virtualSystem } from './virtual.ts';
