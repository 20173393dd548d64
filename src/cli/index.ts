// The `slackwater` command: one file a command. Asks the running service (or, for demo and start, builds one) and prints.
// No rules of the trade here; every table has --json.
export { main } from './program.ts';
export { type RunningService, runService } from './run-service.ts';
