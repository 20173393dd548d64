// A recorded past lived through again in virtual time, behind the hub port: months in a minute, with a hub that purges,
// restarts and forgets. Not here: protocol and devices; those are in hub/ and home/.
export type { ReplayOptions } from './record.ts';
export { type ReplayedHub, replayedHub } from './replayed-hub.ts';
export { heardBy, type KeptRow, type KeptRows, READY_AFTER_MS, type Span } from './rows.ts';
