// Job + equipment + rules become steps; the session engine decides (state, event) → [state, effects]. Pure.
// Belongs here: order, proof, claims, waits. Not here: the facts of the trade (rules/) or sending anything (io/).
export * from './types.ts';
