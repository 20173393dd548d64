import {
  type CounterId,
  MEASURE_UNITS,
  type Measure,
  type Part,
  type PartId,
  type PartLife,
  type Usage,
} from '../model/index.ts';
import type { StorePort } from '../ports/index.ts';
import {
  acceptedLimits,
  baselineOf,
  lifeUsage,
  livesFrom,
  PUT_OFF_KINDS,
  type PutOff,
  pieceUsages,
  presentLives,
  putOffs,
  spareOf,
  type UsageSources,
  withAcceptedLimits,
} from '../record/index.ts';
import { byUrgency, type DatedFinding, type RemindSettings, type Standing, standingOf } from '../remind/index.ts';
import type { InstantMs } from '../units/index.ts';
import { createRates } from './rates.ts';
import type { PartUsage } from './types.ts';

type Deps = {
  readonly parts: readonly Part[];
  readonly store: StorePort;
  readonly timeZone: string;
  readonly settings: RemindSettings;
  /** What is found of a part's condition now. */
  readonly findings?: (part: PartId, now: InstantMs) => readonly DatedFinding[];
};

/** Where every part stands. Lives and daily use are kept; `refresh` reads them anew after a change of either. */
export type Standings = {
  /** After history was read, a part was fitted or put off. */
  refresh(now: InstantMs, sources: UsageSources): void;
  /** The hub's history was read: whatever is older than weeks may have changed, too. */
  historyRead(): void;
  evaluate(now: InstantMs, sources: UsageSources): readonly Standing[];
  usage(now: InstantMs, sources: UsageSources): readonly PartUsage[];
  usageOf(part: Part, now: InstantMs, sources: UsageSources): PartUsage;
  lives(): ReadonlyMap<PartId, PartLife>;
  /** Parts that a counter feeds. */
  partsOf(counter: CounterId): readonly Part[];
};

export function createStandings({ parts: configured, store, timeZone, settings, findings }: Deps): Standings {
  /** With the limits that a person accepted. */
  let parts = configured;
  let lives: ReadonlyMap<PartId, PartLife> = new Map();
  let off: ReadonlyMap<PartId, PutOff> = new Map();
  const rates = createRates(store);

  const standing = (part: Part, now: InstantMs, sources: UsageSources): Standing => {
    const life = lives.get(part.id) ?? null;
    const use: Partial<Record<Measure, readonly number[]>> = {};
    for (const { measure } of part.limits) {
      const counter = part.usageFrom[measure];
      if (counter !== undefined) use[measure] = rates.daily(counter, measure, now, sources);
    }
    const usages = lifeUsage(part, life, now, sources);
    return standingOf({
      part,
      life,
      usages,
      dailyUse: use,
      now,
      settings,
      timeZone,
      putOff: off.get(part.id) ?? null,
      ...(findings === undefined ? {} : { findings: findings(part.id, now) }),
    });
  };

  const usageOf = (part: Part, now: InstantMs, sources: UsageSources): PartUsage =>
    usageShown(parts.find((one) => one.id === part.id) ?? part, lives.get(part.id) ?? null, now, sources);

  return {
    refresh: (now, sources) => {
      rates.forget();
      parts = withAcceptedLimits(configured, acceptedLimits(store.journal(['limit-set'])));
      const present = presentLives(livesFrom(parts, store.lives()));
      // A baseline in memory spares adding up years of hours for every figure shown.
      lives = new Map(
        [...present].map(([id, life]) => {
          const part = parts.find((one) => one.id === id);
          const known = part === undefined || life.baseline !== undefined;
          const baseline = known ? life.baseline : baselineOf(part, life.fittedAt, now, sources);
          return [id, baseline === undefined || Object.keys(baseline).length === 0 ? life : { ...life, baseline }];
        }),
      );
      off = putOffs(store.journal([...PUT_OFF_KINDS]));
    },
    historyRead: () => rates.forgetPast(),
    evaluate: (now, sources) => parts.map((part) => standing(part, now, sources)).sort(byUrgency),
    usage: (now, sources) => parts.map((part) => usageOf(part, now, sources)),
    usageOf,
    lives: () => lives,
    partsOf: (counter) => parts.filter((part) => Object.values(part.usageFrom).includes(counter)),
  };
}

const withUnit = (usage: Usage) => ({ ...usage, unit: MEASURE_UNITS[usage.measure] });

function usageShown(part: Part, life: PartLife | null, now: InstantMs, sources: UsageSources): PartUsage {
  const pieces = pieceUsages(part, life, now, sources);
  const spare = spareOf(part, life);
  return {
    ...(spare === null ? {} : { spare }),
    ...(pieces.length === 0 ? {} : { pieces: pieces.map((one) => ({ ...one, usages: one.usages.map(withUnit) })) }),
    part: part.id,
    name: part.name,
    life: life?.number ?? 1,
    fittedAt: life?.fittedAt ?? null,
    measures: lifeUsage(part, life, now, sources).map((usage) => ({
      ...withUnit(usage),
      limit: part.limits.find((limit) => limit.measure === usage.measure)?.amount ?? null,
    })),
  };
}
