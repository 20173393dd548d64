// Quantities and instants: flavoured numbers, parsing ("450 L", "10 gal", "27 mg/L"), formatting, comparing.
// SI-like units inside (L, W, °C, cm, ms); people may write metric or US. Imports nothing of the project.
export * from './quantity.ts';
