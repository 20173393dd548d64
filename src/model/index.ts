// The vocabulary in types: tank, equipment, driver, part, usage, limit, person. Shapes and constructors that refuse
// nonsense; no behaviour beyond that. Everything downstream speaks in these.
export * from './guards.ts';
export * from './questions.ts';
export * from './roles.ts';
export * from './tank.ts';
export * from './usage.ts';
