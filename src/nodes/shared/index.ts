// What the nodes have in common: the shapes they read from the API, the one connection, status texts, the part of
// Node-RED's own interface they use.
export * from './event-text.ts';
export * from './link.ts';
export * from './node-red.ts';
export * from './status.ts';
export * from './wire.ts';
