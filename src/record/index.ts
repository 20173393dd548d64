// Journal entry shapes, their versions and replay; part lives, their usage, and the service record. Pure.
// Belongs here: what must be true again after a restart. Not here: the file it is kept in (io/store).
export * from './answers.ts';
export * from './entry.ts';
export * from './limits.ts';
export * from './lives.ts';
export * from './past.ts';
export * from './pieces.ts';
export * from './recount.ts';
export * from './replay.ts';
export * from './seed.ts';
export * from './service-record.ts';
export * from './sources.ts';
export * from './spares.ts';
export * from './types.ts';
export * from './undo.ts';
export * from './usage.ts';
