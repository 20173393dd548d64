// What the hub is to show: states, helper buttons and the dashboard, as data. Pure.
// Belongs here: names and texts of what is published. Not here: sending it (io/hub) or deciding anything.
export type { AttentionShown } from './attention-states.ts';
export * from './buttons.ts';
export * from './card-text.ts';
export * from './dashboard.ts';
export * from './emergency-card.ts';
export * from './fitting.ts';
export * from './names.ts';
export * from './shown.ts';
export * from './states.ts';
