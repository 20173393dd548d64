// The loopback API over HTTP: JSON routes and an event stream, each behind a bearer credential. Also the client and the
// credential files that the other edges use. No rules of the trade here: it asks the running service.
export { type AccessGrant, MIN_TOKEN_LENGTH } from './access.ts';
export * from './client.ts';
export * from './credentials.ts';
export { type ApiOptions, type RunningApi, startApi } from './server.ts';
