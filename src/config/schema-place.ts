import { z } from 'zod';
import { problem } from '../errors/index.ts';
import { oneOf, quantity, reject, text, timesOfDay, wholeNumber } from './leaves.ts';
import { HELP, type Report, shown } from './meta.ts';
import { explainToken, looksLikeToken } from './slips.ts';
import { isZoneReport } from './zones.ts';

/** The tank itself, its hub, and the doors to the service. */

const sump = z
  .strictObject({
    litresPerCm: quantity(
      'levelVolume',
      'Water in one centimetre of level, over the whole sump.',
      { above: 0 },
      '4.05 L/cm',
    ),
    normalLevel: quantity('length', 'Level while everything runs.', { above: 0 }, '20 cm'),
    rim: quantity('length', 'Level at which the sump overflows.', { above: 0 }, '42 cm'),
    drainDown: quantity(
      'volume',
      'Water that comes down when the return stops. Left out: not learned yet.',
      { above: 0 },
      '19.5 L',
    ).optional(),
  })
  .register(HELP, {
    description: 'The sump. Without it no step can check that the water which comes down fits.',
    expected: 'a group of keys',
    examples: ['sump: { litresPerCm: 4.05 L/cm, normalLevel: 20 cm, rim: 42 cm }'],
  });

const lights = timesOfDay(
  'When the display is lit, by the clock of the zone. Long stops of the flow then begin in the light and are over an hour before dark.',
  'lights: 09:30-21:30',
);

export const tank = z
  .strictObject({
    name: text('Name shown on every surface.', 'Hallway reef'),
    zone: z
      .string()
      .transform((value, ctx) => {
        const report: Report | null = isZoneReport(value);
        return report === null ? value : reject(ctx, report);
      })
      .register(HELP, {
        description: 'Time zone of the tank. Days, weeks and months are cut in it.',
        expected: 'a name of the IANA time zone data',
        examples: ['Europe/London'],
      }),
    volume: quantity('volume', 'Net water in display and sump together.', { above: 0, max: 100_000 }, '458 L'),
    sump: sump.optional(),
    lights: lights.optional(),
  })
  .register(HELP, {
    description: 'The aquarium.',
    expected: 'a group of keys',
    examples: ['tank: { name: …, zone: …, volume: … }'],
  });

function secretReport(example: string): Report {
  return (at, path) => problem('SW-CFG-013', { at, path, example });
}

const token = z
  .strictObject({
    env: z
      .string()
      .transform((value, ctx) => {
        if (looksLikeToken(value)) return reject(ctx, secretReport('token: { env: SLACKWATER_HUB_TOKEN }'));
        if (/^[A-Za-z_][A-Za-z0-9_]*$/.test(value)) return value;
        return reject(ctx, (at, path) =>
          problem('SW-CFG-005', {
            at,
            path,
            found: 'something else',
            expected: 'the name of an environment variable',
            example: 'env: SLACKWATER_HUB_TOKEN',
          }),
        );
      })
      .register(HELP, {
        description: 'Environment variable that holds the token.',
        expected: 'the name of an environment variable',
        examples: ['SLACKWATER_HUB_TOKEN'],
        secret: true,
      })
      .optional(),
    file: z
      .string()
      .transform((value, ctx) => {
        return looksLikeToken(value) ? reject(ctx, secretReport('token: { file: secrets/hub-token }')) : value;
      })
      .register(HELP, {
        description: 'File that holds the token and nothing else, readable by the service alone (mode 600).',
        expected: 'the path of a file',
        examples: ['secrets/hub-token'],
        secret: true,
      })
      .optional(),
  })
  .register(HELP, {
    description: 'Where the long-lived token of the hub lies: `env` or `file`, never the token itself.',
    expected: 'env or file',
    examples: ['token: { env: SLACKWATER_HUB_TOKEN }'],
    secret: true,
    explain: explainToken,
  });

export const hub = z
  .strictObject({
    url: z
      .string()
      .transform((value, ctx) => {
        const url = URL.parse(value);
        if (url !== null && (url.username !== '' || url.password !== '')) {
          return reject(ctx, secretReport('url: http://127.0.0.1:8123'));
        }
        if (url !== null && ['http:', 'https:'].includes(url.protocol)) return value.replace(/\/+$/, '');
        return reject(ctx, (at, path) =>
          problem('SW-CFG-005', {
            at,
            path,
            found: shown(value),
            expected: 'an address with http:// or https://',
            example: 'url: http://127.0.0.1:8123',
          }),
        );
      })
      .register(HELP, {
        description: 'Address of the hub as this machine reaches it.',
        expected: 'an address with http:// or https://',
        examples: ['http://127.0.0.1:8123'],
      }),
    token,
  })
  .register(HELP, {
    description: 'The home hub.',
    expected: 'a group of keys',
    examples: ['hub: { url: …, token: { env: … } }'],
  });

export const access = z.strictObject({
  kind: oneOf(
    ['person', 'machine'],
    'kind of access',
    'A person may confirm, say "unplugged" and release claims. A machine may look, start and abort.',
  ),
  person: text('Who of `people` it is. Left out: the one with the same id.', 'duty-caretaker').optional(),
  tokenFile: z
    .string()
    .transform((value, ctx) =>
      looksLikeToken(value) ? reject(ctx, secretReport('tokenFile: secrets/node-red')) : value,
    )
    .register(HELP, {
      description: 'File that holds the token and nothing else, readable by the service alone (mode 600).',
      expected: 'the path of a file',
      examples: ['secrets/node-red'],
      secret: true,
    }),
});

export const api = z
  .strictObject({
    host: oneOf(
      ['127.0.0.1', '::1', 'localhost'],
      'loopback address',
      'Address to listen on. Only this machine itself: the API can switch mains.',
    ).prefault('127.0.0.1'),
    port: wholeNumber('Port to listen on.', 1, 65_535, 8787).prefault(8787),
  })
  .prefault({})
  .register(HELP, {
    description: 'The API for commands, pages and nodes on this machine.',
    expected: 'a group of keys',
    examples: ['api: { port: 8787 }'],
  });

export const prefix = z
  .string()
  .transform((value, ctx) => {
    if (/^[a-z][a-z0-9_]{0,30}$/.test(value)) return value;
    return reject(ctx, (at, path) =>
      problem('SW-CFG-005', {
        at,
        path,
        found: shown(value),
        expected: 'lower-case letters, digits and underscores, a letter first',
        example: 'prefix: slackwater',
      }),
    );
  })
  .prefault('slackwater')
  .register(HELP, {
    description: 'Start of the name of every state and helper kept in the hub.',
    expected: 'lower-case letters, digits and underscores',
    examples: ['slackwater'],
  });
