import type { Doubt, DoubtKind } from '../count/index.ts';
import type { CounterDef, Question } from '../model/index.ts';
import { formatNumber } from '../units/index.ts';

/** Readings that stayed and yet were left out of low and best: only a person can say what they were. */
const ASKED: Readonly<Partial<Record<DoubtKind, (doubt: Doubt) => string>>> = {
  'reset-to-a-high-value': ({ before, after }) =>
    `fell from ${show(before)} to ${show(after)} and went on from there. As a reset that is more than can have run since. Has ${show(after)} really passed since it was reset?`,
  'jump-too-fast': ({ before, after }) =>
    `rose from ${show(before)} to ${show(after)} faster than it can, and stayed there. Have ${show(after - before)} really passed?`,
};

/** Asks once for each such moment of a counter. */
export function fallQuestion(doubt: Doubt, defs: readonly CounterDef[]): readonly Question[] {
  const def = defs.find(({ id }) => id === doubt.counter);
  const words = ASKED[doubt.kind];
  // Of dissolved solids the meter says litres, which nobody can turn into grams afterwards.
  if (def === undefined || words === undefined || def.source.kind === 'dissolved') return [];
  const amount = doubt.kind === 'jump-too-fast' ? doubt.after - doubt.before : doubt.after;
  return [
    {
      id: `fall-${doubt.counter}-${new Date(doubt.at)
        .toISOString()
        .slice(0, 16)
        .replaceAll(/[^0-9]/g, '')}`,
      kind: 'suspicious-fall',
      askedAt: doubt.at,
      counter: doubt.counter,
      entity: def.source.entity,
      facts: { doubt: doubt.kind, before: doubt.before, after: doubt.after, amount, at: doubt.at },
      text: `${def.name} (${def.source.entity}) ${words(doubt)} "yes" counts it; "no" leaves it out. Until then it stands in the upper bound only.`,
    },
  ];
}

const show = (value: number): string => formatNumber(value, 3);
