import { randomBytes } from 'node:crypto';

// Reminders and confirmations carry one-use tokens: whoever knows an open one can answer in a person's name. An export goes
// through other hands, so each is replaced by a label, and an import gives each label a new token.

const SECRET_NAMES = new Set(['token', 'nonce']);
const LABEL = /^one-use \d+$/;

type Replace = (secret: string) => string;

function replaced(value: unknown, replace: Replace): unknown {
  if (Array.isArray(value)) return value.map((one) => replaced(one, replace));
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(
    Object.entries(value).map(([name, inner]) => [
      name,
      typeof inner === 'string' && inner !== '' && SECRET_NAMES.has(name) ? replace(inner) : replaced(inner, replace),
    ]),
  );
}

const inText = (text: string, replace: Replace): string =>
  /"(?:token|nonce)"/.test(text) ? JSON.stringify(replaced(JSON.parse(text), replace)) : text;

/** Takes secrets out of JSON texts; the same one gets the same label throughout. */
export function withholdSecrets(): (text: string) => string {
  const labels = new Map<string, string>();
  return (text) =>
    inText(text, (secret) => {
      const label = labels.get(secret) ?? `one-use ${labels.size + 1}`;
      labels.set(secret, label);
      return label;
    });
}

/** Gives every label a token nobody knows. */
export function renewSecrets(): (text: string) => string {
  const tokens = new Map<string, string>();
  return (text) =>
    inText(text, (label) => {
      if (!LABEL.test(label)) return label;
      const token = tokens.get(label) ?? randomBytes(18).toString('base64url');
      tokens.set(label, token);
      return token;
    });
}
