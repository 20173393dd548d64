// Days of steady watts: fouling of pumps, an air line that salts up, a heater that gives less than its rating.
import type { RoleId } from '../model/index.ts';
import { DAY_MS, type InstantMs } from '../units/index.ts';
import type { Book } from './book.ts';
import type { Drifted } from './drift.ts';
import { fig, signed } from './text.ts';
import type { FindingKind, Sure, WatchedEquipment } from './types.ts';

/** By how much steady watts may move before the part is due, and how much rougher they may get. (common practice, no source) */
type Rule = { readonly up: number; readonly down: number; readonly ragged: number; readonly upKind: FindingKind };

const fouling = (up: number, down: number): Rule => ({ up, down, ragged: 2, upKind: 'pump-fouling' });
const RULES: Readonly<Partial<Record<RoleId, Rule>>> = {
  'return-pump': fouling(0.08, 0.08),
  'circulation-pump': fouling(0.1, 0.12),
  skimmer: { up: 0.08, down: 0.1, ragged: 2, upKind: 'skimmer-air' },
  // Small pumps sit near the error of the meter.
  'media-reactor': fouling(0.15, 0.15),
  'algae-reactor': fouling(0.15, 0.15),
  'mixing-pump': fouling(0.1, 0.1),
};

const SUSPECT_FROM = 0.6;
const LIKELY_FROM = 0.8;
const CLEAR_BELOW = 0.35;

export type DayOf = { readonly equipment: WatchedEquipment; readonly drifted: Drifted };

export function judgeDays(days: readonly DayOf[], book: Book, day: number): void {
  const at = (day + 1) * DAY_MS;
  for (const one of days) {
    const rule = RULES[one.equipment.role];
    if (rule !== undefined) judgePump(one, rule, book, at);
  }
  const heaters = days.filter((one) => one.equipment.role === 'heater');
  for (const one of heaters) judgeHeater(one, heaters, book, at);
}

const sureOf = (share: number, signalled: boolean): Sure | null => {
  if (share >= 1 && signalled) return 'certain';
  if (share >= LIKELY_FROM && signalled) return 'likely';
  return share >= SUSPECT_FROM && signalled ? 'suspected' : null;
};

function judgePump({ equipment, drifted }: DayOf, rule: Rule, book: Book, at: InstantMs): void {
  const { id, name } = equipment;
  const { rel, level, signature, spreadRatio, signalled, since } = drifted;
  const isUp = rel >= 0;
  const kind = isUp ? rule.upKind : 'pump-fouling';
  const share = Math.abs(rel) / (isUp ? rule.up : rule.down);
  // Twice as ragged is as much as the whole limit; half as much again is the half of it.
  const rough = spreadRatio * signature.spread > 0.015 * signature.value ? (spreadRatio - 1) / (rule.ragged - 1) : 0;
  const isRough = rough > share && rough >= LIKELY_FROM;
  const sure = isRough ? (rough >= 1 ? 'certain' : 'likely') : sureOf(share, signalled);
  const ofLimit = Math.max(share, rough);
  if (sure === null) {
    if (ofLimit < CLEAR_BELOW) for (const one of [rule.upKind, 'pump-fouling'] as const) book.clear(one, id);
    return;
  }
  const moved = `${fig(signature.value)} W after the last service, ${fig(level)} W now (${signed(rel)})`;
  const rougher = rough >= 0.5 ? `; ${fig(spreadRatio)} times as ragged` : '';
  const why = isUp ? (kind === 'skimmer-air' ? 'its air way may be salting up' : 'scale or dirt') : 'less flow, or air';
  const evidence = `${name}: ${moved}${rougher}; ${why}`;
  const fact = { value: level, normal: signature.value, unit: 'W', evidence, ofLimit };
  book.say(
    { kind: isRough ? 'pump-fouling' : kind, equipment: id, sure, since: Math.min(since, at - DAY_MS), ...fact },
    at,
  );
}

/** A heater ten per cent below its learned watts, and the others not: low mains takes all of them together. */
const HEATER_FALL = 0.1;

function judgeHeater({ equipment, drifted }: DayOf, heaters: readonly DayOf[], book: Book, at: InstantMs): void {
  const { id, name } = equipment;
  const others = heaters.filter((one) => one.equipment.id !== id).map((one) => one.drifted.rel);
  const common = others.length === 0 ? 0 : Math.min(0, Math.max(...others));
  const fall = common - drifted.rel;
  const share = fall / HEATER_FALL;
  const sure = sureOf(share, drifted.signalled);
  if (sure === null) {
    if (share < CLEAR_BELOW) book.clear('heater-watts', id);
    return;
  }
  const evidence = `${name}: ${fig(drifted.level, 0)} W instead of ${fig(drifted.signature.value, 0)} W (${signed(-fall)} beside what all heaters moved); part of its element may be out`;
  const fact = { value: drifted.level, normal: drifted.signature.value, unit: 'W', evidence, ofLimit: share };
  book.say({ kind: 'heater-watts', equipment: id, sure, since: drifted.since, ...fact }, at);
}
