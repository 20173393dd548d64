// A hub as a client sees it: socket and REST protocol, states, services, helpers, registry, history. It knows nothing of
// the tank; what stands behind its entities is in home/.

export type { LinkFault } from './connection.ts';
export {
  type CoreOptions,
  createCore,
  type HubCore,
  type HubPhase,
  type Notification,
  type SentMessage,
} from './core.ts';
export type { PastRows, PastSource } from './recorder.ts';
export { createHubServer, type HubServer } from './server.ts';
export { asRecord, entityList, HubRefusal, type ServiceCall } from './services.ts';
export type { Attributes, EntityState, HubContext, StateChange } from './states.ts';
export { type HourRow, hourlyRows, type StatisticKind, statisticKind } from './statistics.ts';
export type { HubUser } from './users.ts';
export { isoText } from './wire.ts';
