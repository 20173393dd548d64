// Observations become usage with bounds. A pure fold: same observations, same amounts, however they were delivered.
export * from './types.ts';
