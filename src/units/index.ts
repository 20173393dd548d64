// Quantities and instants: flavoured numbers, parsing ("450 L", "10 gal", "27 mg/L"), formatting, comparing.
// SI-like units inside (L, W, °C, cm, ms); people may write metric or US. Imports nothing of the project.
export * from './duration.ts';
export * from './format.ts';
export * from './instant.ts';
export * from './kinds.ts';
export * from './number.ts';
export * from './parse.ts';
export * from './periods.ts';
export * from './quantity.ts';
