// Statistics that condition and forecast share: robust figures, trends, control charts, one change of level.
export * from './charts.ts';
export * from './normal.ts';
export * from './robust.ts';
export * from './shift.ts';
export * from './trend.ts';
