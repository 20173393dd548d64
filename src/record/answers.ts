import type { Actor, Bounds, Measure, Part, PartLife } from '../model/index.ts';
import { ZERO } from '../model/index.ts';
import type { InstantMs } from '../units/index.ts';
import { actorName } from './lives.ts';
import type { Answered } from './types.ts';
import { plus, type UsageSources } from './usage.ts';

export type SettleInput = {
  readonly part: Part;
  readonly present: PartLife | null;
  readonly measure: Measure;
  /** What stands in the upper bound only, in the unit of the measure, since `at`. */
  readonly amount: number;
  readonly at: InstantMs;
  readonly question: string;
  readonly choice: string;
  readonly now: InstantMs;
  readonly by: Actor;
  readonly sources: UsageSources;
};

/**
 * A person has said whether a doubtful amount of a meter really passed: it is then proven, or out of the upper bound too.
 * Null where it does not lie in the part's present life.
 */
export const settleFall = (input: SettleInput): { readonly life: PartLife; readonly entry: Answered } | null => {
  const { part, present, measure, amount, at, question, choice, now, sources } = input;
  if (present === null || at < present.fittedAt) return null;
  const counter = part.usageFrom[measure];
  const since = counter === undefined ? null : (sources.counters.get(counter)?.folded.countingSince ?? null);
  const change: Bounds = choice === 'yes' ? { low: amount, best: amount, high: 0 } : { low: 0, best: 0, high: -amount };
  const before = present.number === 1 ? part.usedBefore[measure] : undefined;
  const had = present.carried?.[measure];
  // What the configuration says of the past ends where counting began.
  const base = had ?? {
    ...(before === undefined ? ZERO : { low: before, best: before, high: before }),
    ...(before === undefined || since === null ? {} : { until: since }),
  };
  const carried = { ...present.carried, [measure]: { ...base, ...plus(base, change) } };
  return {
    life: { ...present, carried },
    entry: {
      v: 1,
      kind: 'answered',
      at: now,
      part: part.id,
      life: present.number,
      by: actorName(input.by),
      question,
      choice,
      measure,
      amount,
      before: present,
    },
  };
};
