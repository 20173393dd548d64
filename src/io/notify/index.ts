// Ways to people that do not pass through the hub: an HTTP request, an e-mail, a sign of life. Belongs here: their wires,
// time-outs and retries. Not here: what is told (app). No secret of theirs is ever part of an error or a log line.
export { createHeartbeat } from './heartbeat.ts';
export { createMailPath, type MailServer } from './mail.ts';
export type { TryAgain } from './retry.ts';
export { createWebhookPath } from './webhook.ts';
