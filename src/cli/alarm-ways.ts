import type { AlarmsConfig } from '../config/index.ts';
import { createHeartbeat, createMailPath, createWebhookPath, type TryAgain } from '../io/notify/index.ts';
import { realRandom } from '../io/system/index.ts';
import type { AlarmPath, Heartbeat, Timers } from '../ports/index.ts';
import { secretAt } from './config-file.ts';

/** Ways for alarms that do not pass through the hub, and what must not stand in any log of theirs. */
export type AlarmWays = { readonly paths: readonly AlarmPath[]; readonly heartbeat: Heartbeat | null };

export type AlarmSecrets = {
  readonly webhookUrl?: string;
  readonly authorization?: string;
  readonly password?: string;
  readonly heartbeatUrl?: string;
};

/** Read before anything is started: a secret that cannot be read is told at once, not with the first alarm. */
export async function alarmSecrets({ webhook, email, heartbeat }: AlarmsConfig): Promise<AlarmSecrets> {
  const secrets: { -readonly [K in keyof AlarmSecrets]: AlarmSecrets[K] } = {};
  if (webhook !== undefined) secrets.webhookUrl = await secretAt(webhook.url, 'the webhook');
  if (webhook?.authorization !== undefined)
    secrets.authorization = await secretAt(webhook.authorization, 'the webhook');
  if (email?.password !== undefined) secrets.password = await secretAt(email.password, 'the mail server');
  if (heartbeat !== undefined) secrets.heartbeatUrl = await secretAt(heartbeat.url, 'the sign of life');
  return secrets;
}

/** Timers of real time: a mail server does not run faster because a clock does. */
export function alarmWays(
  { webhook, email, heartbeat }: AlarmsConfig,
  secrets: AlarmSecrets,
  timers: Timers,
  tryAgain?: TryAgain,
): AlarmWays {
  const again = tryAgain === undefined ? {} : { tryAgain };
  const paths: AlarmPath[] = [];
  if (webhook !== undefined) {
    const { authorization, webhookUrl: url = '' } = secrets;
    paths.push(createWebhookPath({ url, timers, ...again, ...(authorization === undefined ? {} : { authorization }) }));
  }
  if (email !== undefined) {
    const { host, port, security, user, from, to } = email;
    const { password } = secrets;
    const login = user === undefined || password === undefined ? {} : { login: { user, password } };
    paths.push(createMailPath({ host, port, security, from, to, timers, random: realRandom, ...login, ...again }));
  }
  return {
    paths,
    heartbeat:
      heartbeat === undefined
        ? null
        : createHeartbeat({
            url: secrets.heartbeatUrl ?? '',
            method: heartbeat.method,
            everyMs: heartbeat.everyMs,
          }),
  };
}
