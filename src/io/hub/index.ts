// The hub edge: one connection with deadlines and keep-alive, our own state map, history, and the one gate through which
// anything is switched. Belongs here: whatever the hub's wire or its client library makes necessary.
// Not here: what a state means (observe), what to do about it (the pure stages).
export { createHub, type Hub } from './hub.ts';
export { DONE_ACTION, LATER_ACTION } from './notify.ts';
export { type HubLook, lookOnce } from './once.ts';
export type { HubEntities, HubOptions, SocketLike } from './options.ts';
