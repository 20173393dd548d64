// What the shell must supply, one capability each: clock, timers, random, hub, store, log. Interfaces only.
export * from './alarm.ts';
export * from './hub.ts';
export * from './store.ts';
export * from './system.ts';
