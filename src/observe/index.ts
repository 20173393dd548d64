// Hub states → observations: text to value, the compressed live form, live and history merged, freshness, and what a
// restart of the hub hides. Pure: times are arguments, nothing is fetched.
export * from './compressed.ts';
export * from './entity-state.ts';
export * from './freshness.ts';
export * from './gist.ts';
export * from './hours.ts';
export * from './merge.ts';
export * from './minutes.ts';
export * from './restart.ts';
export * from './types.ts';
export * from './unit.ts';
export * from './value.ts';
