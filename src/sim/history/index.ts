// The recorded past of the demo tank, made from a seed: what really ran (truth) and what the hub kept of it (series).
export * from './truth.ts';
