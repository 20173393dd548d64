import { didYouMean, nearest, problem } from '../errors/index.ts';
import { beginsWith } from './leaves.ts';
import { type Report, shown } from './meta.ts';

/** Slips that deserve a sharper message than "found this, expected that". */

const TOKEN_EXAMPLE = 'token: { env: SLACKWATER_HUB_TOKEN }';

/** Long-lived tokens of the hub are signed texts in three parts; anything long without a slash is no name either. */
export function looksLikeToken(value: string): boolean {
  return /^ey[\w-]+\.[\w-]+\.[\w-]*$/.test(value.trim()) || /^[\w+=.-]{48,}$/.test(value.trim());
}

/** Any text in place of the group is taken for the secret itself, and never repeated. */
export function explainToken(value: unknown): Report | null {
  if (typeof value !== 'string' && typeof value !== 'number') return null;
  return (at, path) => problem('SW-CFG-013', { at, path, example: TOKEN_EXAMPLE });
}

/** What a session can suspend and resume in the hub. */
export const DRIVER_DOMAINS = ['automation', 'climate', 'schedule', 'timer', 'switch', 'input_boolean'];
const KEYED = ['schedule', 'thermostat'];
const WORDS = ['always-on', 'own-controller'];

export function explainDriver(value: unknown): Report | null {
  if (value === undefined) return null;
  if (typeof value === 'string') return explainDriverWord(value);
  if (typeof value !== 'object' || value === null || Array.isArray(value)) return general(value);
  const keys = Object.keys(value);
  const [key] = keys;
  if (key === undefined) return general(value);
  if (keys.length > 1) {
    return (at, path) => problem('SW-CFG-017', { at, path, found: keys.join(' and '), expected: KEYED.join(', ') });
  }
  if (!KEYED.includes(key)) {
    const hint = didYouMean(key, KEYED, 'Write always-on or own-controller without a group.');
    return (at, path) => problem('SW-CFG-003', { at, path, found: key, expected: KEYED.join(', '), hint });
  }
  return entityMissing(key, (value as Readonly<Record<string, unknown>>)[key]);
}

function explainDriverWord(word: string): Report {
  if (KEYED.includes(word)) return entityMissing(word, undefined);
  const near = nearest(word, [...WORDS, ...KEYED]);
  return (at, path) =>
    problem('SW-CFG-008', {
      at,
      path,
      found: word,
      what: 'driver',
      expected: 'always-on, own-controller, { schedule: entity }, { thermostat: entity }',
      hint: near === null ? 'Choose who decides when this equipment is on.' : `Did you mean "${near}"?`,
    });
}

function entityMissing(key: string, value: unknown): Report {
  const example =
    key === 'schedule' ? 'driver: { schedule: automation.lamps }' : 'driver: { thermostat: climate.display }';

  if (value === undefined || value === null) {
    return (at, path) =>
      problem('SW-CFG-004', {
        at,
        path: `${path}.${key}`,
        expected: 'the entity of the hub that a session suspends while it has this equipment',
        example,
      });
  }
  return (at, path) =>
    problem('SW-CFG-011', { at, path: `${path}.${key}`, found: shown(value), expected: beginsWith(DRIVER_DOMAINS) });
}

function general(value: unknown): Report {
  return (at, path) =>
    problem('SW-CFG-005', {
      at,
      path,
      found: shown(value),
      expected: 'always-on, own-controller, { schedule: entity } or { thermostat: entity }',
      example: 'driver: always-on',
    });
}
