import { resolve } from 'node:path';
import { problem } from '../errors/index.ts';
import { type BuildContext, optional } from './build-context.ts';
import type { AlarmsConfig, SecretPlace } from './types.ts';

const LOOPBACK: ReadonlySet<string> = new Set(['localhost', '127.0.0.1', '::1']);

export function buildAlarms(context: BuildContext): AlarmsConfig {
  const { webhook, email, heartbeat, hubSilent } = context.written.alarms;
  const at = (path: readonly string[], written: WrittenSecret): SecretPlace => secretPlace(context, path, written);
  return {
    hubSilentMs: hubSilent,
    ...optional({
      webhook:
        webhook === undefined
          ? undefined
          : {
              url: at(['webhook', 'url'], webhook.url),
              ...(webhook.authorization === undefined
                ? {}
                : { authorization: at(['webhook', 'authorization'], webhook.authorization) }),
            },
      email: email === undefined ? undefined : buildEmail(context, email),
      heartbeat:
        heartbeat === undefined
          ? undefined
          : { url: at(['heartbeat', 'url'], heartbeat.url), everyMs: heartbeat.every, method: heartbeat.method },
    }),
  };
}

type WrittenSecret = { readonly env?: string | undefined; readonly file?: string | undefined };
type WrittenEmail = NonNullable<BuildContext['written']['alarms']['email']>;

function buildEmail(context: BuildContext, email: WrittenEmail): NonNullable<AlarmsConfig['email']> {
  const refuse = (key: string, conflict: string, hint: string): void =>
    context.findings.add(['alarms', 'email', key], 'value', (at, path) =>
      problem('SW-CFG-018', { at, path, conflict, hint }),
    );
  const { host, port, security, user, password, from, to } = email;
  if (security === 'none' && !LOOPBACK.has(host))
    refuse('security', 'the message would cross the network in clear', 'Use tls or starttls.');
  if (security === 'none' && password !== undefined)
    refuse('password', 'a password is never sent without tls or starttls', 'Use one of these, or leave it out.');
  if ((user === undefined) !== (password === undefined))
    refuse(user === undefined ? 'password' : 'user', 'user and password go together', 'Give both, or neither.');
  // A line break would end the header, an angle bracket the address.
  for (const [key, address] of [['from', from] as const, ...to.map((one) => ['to', one] as const)])
    if (!/^[^\s<>@,]+@[^\s<>@,]+$/.test(address))
      refuse(key, `"${address}" is no mail address`, 'Write the address alone, as in robin@example.org.');
  return {
    ...{ host, port, security, from, to },
    ...(user === undefined || password === undefined
      ? {}
      : { user, password: secretPlace(context, ['email', 'password'], password) }),
  };
}

function secretPlace(
  { findings, folder }: BuildContext,
  path: readonly string[],
  { env, file }: WrittenSecret,
): SecretPlace {
  if (env !== undefined && file === undefined) return { env };
  if (file !== undefined && env === undefined) return { file: resolve(folder, file) };
  findings.add(['alarms', ...path], 'value', (at, where) =>
    env === undefined
      ? problem('SW-CFG-004', { at, path: where, expected: 'env or file in it', example: '{ file: secrets/alarm }' })
      : problem('SW-CFG-017', { at, path: where, found: 'both', expected: 'env, file' }),
  );
  return { env: '' };
}
