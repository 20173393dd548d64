import { z } from 'zod';
import { problem } from '../errors/index.ts';
import { duration, oneOf, reject, text, wholeNumber } from './leaves.ts';
import { HELP } from './meta.ts';

/** How alarms reach people when the hub cannot: nothing here passes through it. */

function secretAt(description: string, variable: string, file: string) {
  return z
    .strictObject({
      env: z
        .string()
        .transform((value, ctx) => {
          if (/^[A-Za-z_][A-Za-z0-9_]*$/.test(value)) return value;
          return reject(ctx, (at, path) =>
            problem('SW-CFG-005', {
              at,
              path,
              found: 'something else',
              expected: 'the name of an environment variable',
              example: `env: ${variable}`,
            }),
          );
        })
        .register(HELP, {
          description: 'Environment variable that holds it.',
          expected: 'the name of an environment variable',
          examples: [variable],
          secret: true,
        })
        .optional(),
      file: z
        .string()
        .transform((value, ctx) =>
          value.includes('://')
            ? reject(ctx, (at, path) => problem('SW-CFG-013', { at, path, example: `file: ${file}` }))
            : value,
        )
        .register(HELP, {
          description: 'File that holds it and nothing else, readable by the service alone (mode 600).',
          expected: 'the path of a file',
          examples: [file],
          secret: true,
        })
        .optional(),
    })
    .register(HELP, {
      description,
      expected: 'env or file',
      examples: [`{ env: ${variable} }`],
      secret: true,
      explain: (value) =>
        typeof value === 'string'
          ? (at, path) =>
              problem('SW-CFG-013', { at, path, example: `${path.split('.').at(-1)}: { env: ${variable} }` })
          : null,
    });
}

const group = (description: string, example: string) => ({
  description,
  expected: 'a group of keys',
  examples: [example],
});

const webhook = z
  .strictObject({
    url: secretAt(
      'Where the address lies to which each alarm is sent as JSON; addresses of this kind are secrets themselves.',
      'REEF_ALARM_URL',
      'secrets/alarm-url',
    ),
    authorization: secretAt(
      'Where the text of an Authorization header lies, if one is asked for.',
      'REEF_ALARM_AUTH',
      'secrets/alarm-auth',
    ).optional(),
  })
  .register(HELP, group('Alarms as an HTTP request.', 'webhook: { url: { file: secrets/alarm-url } }'));

const email = z
  .strictObject({
    host: text('Mail server that takes the message.', 'mail.example.org'),
    port: wholeNumber('Its port: 465 with `tls`, 587 with `starttls`.', 1, 65_535, 587),
    security: oneOf(
      ['tls', 'starttls', 'none'],
      'kind of security',
      '`tls` from the first byte, `starttls` before anything is said; `none` only to a server on this machine.',
    ),
    user: text('Name to log in with, where the server asks for one.', 'reef@example.org').optional(),
    password: secretAt('Where the password lies.', 'REEF_MAIL_PASSWORD', 'secrets/mail').optional(),
    from: text('Address it comes from.', 'reef@example.org'),
    to: z
      .array(text('Address.', 'robin@example.org'))
      .min(1)
      .register(HELP, {
        description: 'Addresses it goes to.',
        expected: 'a list of addresses',
        examples: ['to: [robin@example.org]'],
      }),
  })
  .register(HELP, group('Alarms as e-mail.', 'email: { host: mail.example.org, port: 587, … }'));

const heartbeat = z
  .strictObject({
    url: secretAt(
      'Where the address lies that is called as long as the service lives; whatever listens there notices its silence.',
      'REEF_HEARTBEAT_URL',
      'secrets/heartbeat-url',
    ),
    every: duration('How often.', { min: 30_000, max: 86_400_000 }, '5 min').prefault('5 min'),
    method: oneOf(['GET', 'POST'], 'method', 'How it is called.').prefault('GET'),
  })
  .register(HELP, group('A sign of life for something else to watch.', 'heartbeat: { url: { env: … }, every: 5 min }'));

export const alarms = z
  .strictObject({
    webhook: webhook.optional(),
    email: email.optional(),
    heartbeat: heartbeat.optional(),
    hubSilent: duration(
      'The hub gone for so long is an alarm itself, told on these paths.',
      { min: 60_000, max: 86_400_000 },
      '10 min',
    ).prefault('10 min'),
  })
  .prefault({})
  .register(
    HELP,
    group(
      'Ways for alarms that do not pass through the hub. Whatever the hub shows goes here as well, also while the hub is down.',
      'alarms: { webhook: { url: { file: secrets/alarm-url } } }',
    ),
  );
