// Standing protection outside sessions: guards that may only switch off, the watch over what was left off, the watch
// after a restore, the audit of start-up settings. Pure. Not here: sending anything, or how a person is told.
export * from './after-watch.ts';
export * from './audit.ts';
export * from './context.ts';
export { darkLine } from './dark.ts';
export { guardStep, judgeReset, NO_GUARDS, type ResetVerdict, restoredGuards } from './engine.ts';
export * from './left-off.ts';
export * from './types.ts';
