import { problem } from '../errors/index.ts';
import type { Actor, Bounds, Carried, CounterId, Measure, Part, PartLife } from '../model/index.ts';
import type { InstantMs } from '../units/index.ts';
import { actorName, checkDate, dateOf } from './lives.ts';
import type { Seeded } from './types.ts';
import { baselineOf, ordered, type UsageSources } from './usage.ts';

export type SeedInput = {
  readonly part: Part;
  readonly present: PartLife | null;
  readonly now: InstantMs;
  readonly fittedAt: InstantMs;
  /** What is on it now by the keeper's word. */
  readonly used?: Readonly<Partial<Record<Measure, Bounds>>>;
  /** What the hub still knows of the time before counting began, each up to where counting took over. */
  readonly known?: Readonly<Partial<Record<Measure, Carried>>>;
  readonly by: Actor;
  readonly note?: string;
  readonly sources: UsageSources;
};

export type SeededResult = { readonly life: PartLife; readonly entry: Seeded };

/**
 * Gives a part that was fitted before anybody counted its past: the date, and what is on it. A measure nobody vouches for
 * keeps its bounds from the date on (nothing at least, at most what was possible). A word stands over what the hub knows.
 */
export const seedPart = (input: SeedInput): SeededResult => {
  const { part, present, now, fittedAt, sources } = input;
  if (present !== null && present.number > 1)
    throw problem('SW-REC-011', { part: part.name, found: `${dateOf(present.fittedAt)} UTC`, id: part.id });
  checkDate(part, fittedAt, now, null);
  const carried: Partial<Record<Measure, Carried>> = {};
  for (const [measure, amount] of Object.entries(input.known ?? {}) as [Measure, Carried][])
    if (usable(part, measure)) carried[measure] = { ...ordered(amount), ...tagsOf(amount) };
  for (const [measure, amount] of Object.entries(input.used ?? {}) as [Measure, Bounds][]) {
    if (!usable(part, measure)) {
      const known = Object.keys(part.usageFrom).join(', ');
      throw problem('SW-REC-012', { part: part.name, found: measure, known: known === '' ? 'nothing' : known });
    }
    carried[measure] = { ...ordered(amount), until: now, origin: 'person' };
  }
  const by = actorName(input.by);
  const { pieces: _pieces, baseline: _baseline, carried: _carried, ...rest } = present ?? { part: part.id, number: 1 };
  const life: PartLife = {
    ...rest,
    fittedAt,
    fittedBy: by,
    baseline: baselineFor(part, fittedAt, carried, now, sources),
    ...(Object.keys(carried).length === 0 ? {} : { carried }),
  };
  return {
    life,
    entry: {
      v: 1,
      kind: 'seeded',
      at: now,
      part: part.id,
      life: life.number,
      fittedAt,
      by,
      note: input.note ?? '',
      carried,
      before: present,
    },
  };
};

/** The calendar gives the days. */
const usable = (part: Part, measure: Measure): boolean => measure !== 'days' && part.usageFrom[measure] !== undefined;

const tagsOf = ({ until, origin }: Carried): Pick<Carried, 'until' | 'origin'> => ({
  ...(until === undefined ? {} : { until }),
  ...(origin === undefined ? {} : { origin }),
});

/** Each measure from where its carried amount ends, else from the fitting. */
export const baselineFor = (
  part: Part,
  fittedAt: InstantMs,
  carried: Readonly<Partial<Record<Measure, Carried>>>,
  now: InstantMs,
  sources: UsageSources,
): NonNullable<PartLife['baseline']> => {
  const baseline: Record<CounterId, Partial<Record<Measure, Bounds>>> = {};
  for (const [measure, counter] of Object.entries(part.usageFrom) as [Measure, CounterId][]) {
    const from = carried[measure]?.until ?? fittedAt;
    const own = baselineOf({ ...part, usageFrom: { [measure]: counter } }, from, now, sources)[counter]?.[measure];
    if (own !== undefined) baseline[counter] = { ...baseline[counter], [measure]: own };
  }
  return baseline;
};
