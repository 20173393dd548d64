import { z } from 'zod';
import { problem } from '../errors/index.ts';
import { RULES, type RuleSetting, type SettingUnit } from '../rules/index.ts';
import {
  formatDuration,
  formatQuantity,
  type Parsed,
  parseDuration,
  parseQuantity,
  type QuantityKind,
} from '../units/index.ts';
import { misreadReport, reject } from './leaves.ts';
import { HELP, type Help, type Report, shown } from './meta.ts';

/** How the unit of a setting is written; settings keep their number in the unit of the rule pack. */
const KIND_OF_UNIT: Readonly<Record<Exclude<SettingUnit, 'ms'>, QuantityKind>> = {
  share: 'share',
  cm: 'length',
  C: 'temperatureDifference',
  L: 'volume',
  count: 'count',
  W: 'power',
  'mg/L': 'dissolved',
  ppt: 'salinity',
  dKH: 'alkalinity',
  factor: 'factor',
};

/** A keeper writes the unit, so the key does without it: `waitMs` is written `wait: 90 s`. */
export function settingKey(name: string): string {
  return name.replace(/(?<=[a-z])(Ms|Cm|C|L|W|Share|Ppt|Dkh|MgL)$/, '');
}

function read(setting: RuleSetting, text: string): Parsed {
  return setting.unit === 'ms' ? parseDuration(text) : parseQuantity(KIND_OF_UNIT[setting.unit], text);
}

export function showSetting(setting: RuleSetting, value: number): string {
  if (setting.unit === 'ms') return formatDuration(value);
  if (setting.unit === 'count' || setting.unit === 'factor') return String(value);
  return formatQuantity(KIND_OF_UNIT[setting.unit], value);
}

function setting(rule: string, why: string, def: RuleSetting) {
  const bare = def.unit === 'count' || def.unit === 'factor';
  const expected = `${showSetting(def, def.min)} to ${showSetting(def, def.max)}`;
  const help: Help = {
    description: `${def.why[0]?.toUpperCase()}${def.why.slice(1)}. Default ${showSetting(def, def.default)}, safe range ${expected}.`,
    expected,
    examples: [showSetting(def, def.default)],
    explain: (value) => {
      if (value === undefined) return null;
      const found = typeof value === 'number' ? `${value} (no unit)` : shown(value);
      return (at, path) => problem('SW-CFG-006', { at, path, found, expected, example: showSetting(def, def.default) });
    },
  };
  const check = (text: string, ctx: Parameters<typeof reject>[0]): number => {
    const parsed = read(def, text);
    if (!parsed.ok) return reject(ctx, misreadReport(parsed));
    if (parsed.value >= def.min && parsed.value <= def.max) return parsed.value;
    return reject(ctx, outside(rule, why, def, text, expected));
  };
  return bare
    ? z
        .union([z.number(), z.string()])
        .transform((value, ctx) => check(String(value), ctx))
        .register(HELP, help)
    : z.string().transform(check).register(HELP, help);
}

function outside(rule: string, why: string, def: RuleSetting, text: string, expected: string): Report {
  return (at, path) =>
    problem('SW-CFG-015', {
      at,
      path,
      found: shown(text),
      rule,
      expected,
      why: lowerFirst(why),
      default: showSetting(def, def.default),
    });
}

/** The sentence goes on after "because". */
function lowerFirst(sentence: string): string {
  const plain = sentence.replace(/\.$/, '');
  return `${plain[0]?.toLowerCase() ?? ''}${plain.slice(1)}`;
}

/** One optional group for every rule that has something to set. */
export function rulesSchema() {
  const groups: Record<
    string,
    z.ZodOptional<z.ZodObject<Record<string, z.ZodOptional<ReturnType<typeof setting>>>, z.core.$strict>>
  > = {};
  const byNumber = Object.entries(RULES).toSorted(([a], [b]) => Number(a.slice(1)) - Number(b.slice(1)));
  for (const [id, rule] of byNumber) {
    const settings = Object.entries(rule.settings);
    if (settings.length === 0) continue;
    const shape = Object.fromEntries(
      settings.map(([name, def]) => [settingKey(name), setting(id, rule.why, def).optional()]),
    );
    groups[id] = z
      .strictObject(shape)
      .register(HELP, { description: `${rule.title}. ${rule.why}`, expected: 'a group of keys', examples: [] })
      .optional();
  }
  return z
    .strictObject(groups)
    .prefault({})
    .register(HELP, {
      description: 'Numbers of the rules, changed for this tank within their safe ranges.',
      expected: 'a group of keys',
      examples: ['rules: { K7: { wait: 90 s } }'],
      explainKey: (key) => {
        if (!Object.hasOwn(RULES, key)) return null;
        const hint = 'Remove it: this rule holds as it stands.';
        return (at, path) => problem('SW-CFG-018', { at, path, conflict: 'this rule has nothing to set', hint });
      },
    });
}

/** Written settings back under the names of the rule pack. */
export function ruleOverrides(
  written: Readonly<Record<string, Readonly<Record<string, number | undefined>> | undefined>>,
): Readonly<Record<string, Readonly<Record<string, number>>>> {
  const overrides: Record<string, Record<string, number>> = {};
  for (const [id, rule] of Object.entries(RULES)) {
    for (const name of Object.keys(rule.settings)) {
      const value = written[id]?.[settingKey(name)];
      if (value === undefined) continue;
      overrides[id] = { ...overrides[id], [name]: value };
    }
  }
  return overrides;
}
