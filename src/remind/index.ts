// Limits + usage + forecast become a standing with a reason, and what to tell whom. Pure.
// Belongs here: words, reasons, when a reminder is raised or cleared. Not here: sending it (io/) or keeping it (record/).
export * from './condition.ts';
export * from './reminders.ts';
export * from './standing.ts';
export * from './text.ts';
export * from './types.ts';
