// Limits + usage + forecast become a standing with a reason, and what to tell whom. Pure.
export * from './types.ts';
