// The one event loop: queue in, stages left to right, journal, effects out; start, reconcile, drain, stop.
// Sees pure stages and ports only; the edges hand it real or simulated ones.

export { DASHBOARD_PATH } from './face.ts';
export * from './keeper-types.ts';
export * from './protection-types.ts';
export { seenBefore } from './seen.ts';
export { type App, type AppOptions, createApp } from './service.ts';
export { withSources } from './sources.ts';
export * from './types.ts';
