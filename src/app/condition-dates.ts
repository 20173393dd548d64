import type { Finding, FindingKind } from '../condition/index.ts';
import { conditionReach, type Foreseen } from '../forecast/index.ts';
import type { EquipmentId } from '../model/index.ts';
import type { DatedFinding } from '../remind/index.ts';
import type { InstantMs } from '../units/index.ts';

/** Findings that are drifts of steady watts, with a limit that such a drift comes to. */
const DRIFTS: readonly FindingKind[] = ['pump-fouling', 'skimmer-air'];
/** No limit of a drift is narrower than this share; where it would seem so, something else than the drift was found. */
const LEAST_LIMIT_SHARE = 0.07;

type DailyWatts = (equipment: EquipmentId) => readonly { readonly day: number; readonly value: number }[];
type Kept = { readonly day: number; readonly limit: number; readonly foreseen: Foreseen | null };

/** When what drifts comes to its limit; worked out once a day for each. */
export function createConditionDates(daily: DailyWatts) {
  const kept = new Map<string, Kept>();
  return {
    of(finding: Finding, now: InstantMs): DatedFinding {
      const { kind, equipment, value, normal, ofLimit } = finding;
      if (equipment === undefined || normal === null || ofLimit === undefined || !DRIFTS.includes(kind)) return finding;
      if (ofLimit <= 0 || ofLimit >= 1 || Math.abs(value / normal - 1) < LEAST_LIMIT_SHARE * ofLimit) return finding;
      const days = daily(equipment);
      const last = days.at(-1)?.day ?? 0;
      const limit = normal + (value - normal) / ofLimit;
      const key = `${equipment} ${kind}`;
      const known = kept.get(key);
      if (known?.day === last && known.limit === limit) return { ...finding, foreseen: known.foreseen };
      const foreseen = conditionReach({ values: days.map((one) => one.value), limit, now });
      kept.set(key, { day: last, limit, foreseen });
      return { ...finding, foreseen };
    },
  };
}
