import { dailyUseOf, RATE_DAYS, SEASON_DAYS } from '../forecast/index.ts';
import type { CounterId, Measure } from '../model/index.ts';
import type { StorePort } from '../ports/index.ts';
import type { UsageSources } from '../record/index.ts';
import { DAY_MS, HOUR_MS, type InstantMs } from '../units/index.ts';

type Kept = { readonly at: InstantMs; readonly use: readonly number[] };

/** Two days more than asked for, since the days are counted back from the hour. */
const windowMs = (days: number): number => (days + 2) * DAY_MS;

/** Daily use of the counters, as forecasts take it; kept until history changed. */
export type Rates = {
  daily(counter: CounterId, measure: Measure, now: InstantMs, sources: UsageSources): readonly number[];
  /** A part has another life, or another limit: the last weeks are read anew. */
  forget(): void;
  /** The hub's history was read: so is all of the past. */
  forgetPast(): void;
};

export function createRates(store: Pick<StorePort, 'slices'>): Rates {
  const recents = new Map<string, Kept>();
  const pasts = new Map<string, Kept>();
  const read = (counter: CounterId, measure: Measure, now: InstantMs, sources: UsageSources, days: number) => {
    const since = sources.counters.get(counter)?.folded.countingSince ?? null;
    return dailyUseOf(store.slices(counter, measure, now - windowMs(days)), since, now, days);
  };
  const kept = (all: Map<string, Kept>, key: string, now: InstantMs, forMs: number, make: () => readonly number[]) => {
    const known = all.get(key);
    if (known !== undefined && now >= known.at && now - known.at < forMs) return known.use;
    const use = make();
    all.set(key, { at: now, use });
    return use;
  };
  return {
    daily: (counter, measure, now, sources) => {
      const key = `${counter} ${measure}`;
      const hour = now - (now % HOUR_MS);
      // The last weeks are read again once an hour: a rate does not change within one. All that tells of seasons is two
      // years of hours; it is read once a day.
      return kept(recents, key, hour, HOUR_MS, () => {
        const past = kept(pasts, key, hour, DAY_MS, () => read(counter, measure, hour, sources, SEASON_DAYS));
        const recent = read(counter, measure, hour, sources, RATE_DAYS);
        return [...past.slice(0, Math.max(0, past.length - recent.length)), ...recent];
      });
    },
    forget: () => recents.clear(),
    forgetPast: () => {
      recents.clear();
      pasts.clear();
    },
  };
}
