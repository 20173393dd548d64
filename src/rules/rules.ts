import { ORDER_RULES, WATER_RULES } from './order.ts';
import type { Rule, RuleId, RuleOverrides, RuleSetting } from './types.ts';

export const RULES: Readonly<Record<RuleId, Rule>> = { ...ORDER_RULES, ...WATER_RULES };

const isRule = (id: string): id is RuleId => Object.hasOwn(RULES, id);

/** The settings of a rule; none where the rule has nothing to set or does not exist. */
export const settingsOf = (rule: string): Readonly<Record<string, RuleSetting>> =>
  isRule(rule) ? RULES[rule].settings : {};

/**
 * A rule's number for this tank. A value outside the safe range never gets here through the configuration; should one
 * come another way, the nearest safe value is taken.
 */
export function ruleSetting(overrides: RuleOverrides, rule: RuleId, setting: string): number {
  const def = settingsOf(rule)[setting];
  if (!def) throw new RangeError(`rule ${rule} has no setting ${setting}`);
  const wanted = overrides[rule]?.[setting] ?? def.default;
  return Math.min(def.max, Math.max(def.min, wanted));
}

export type OverrideCheck =
  | { readonly ok: true }
  | {
      readonly ok: false;
      readonly problem: 'unknown-rule' | 'unknown-setting' | 'out-of-range';
      readonly reason: string;
      /** Names or bounds that would be accepted. */
      readonly allowed: readonly string[];
    };

/** Is this override known and inside its safe range? */
export function checkRuleOverride(rule: string, setting: string, value: number): OverrideCheck {
  if (!isRule(rule)) {
    return { ok: false, problem: 'unknown-rule', reason: `no rule ${rule}`, allowed: Object.keys(RULES) };
  }
  const settings = settingsOf(rule);
  const def = Object.hasOwn(settings, setting) ? settings[setting] : undefined;
  if (!def) {
    const names = Object.keys(settings);
    const reason = names.length > 0 ? `rule ${rule} has no setting ${setting}` : `rule ${rule} has nothing to set`;
    return { ok: false, problem: 'unknown-setting', reason, allowed: names };
  }
  if (!Number.isFinite(value) || value < def.min || value > def.max) {
    return {
      ok: false,
      problem: 'out-of-range',
      reason: `${value} ${def.unit} is outside the safe range ${def.min} to ${def.max} ${def.unit} of ${rule} ${setting}`,
      allowed: [`${def.min} ${def.unit}`, `${def.max} ${def.unit}`],
    };
  }
  return { ok: true };
}
