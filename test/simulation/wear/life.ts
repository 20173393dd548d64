// The demo tank's eighteen months with nothing the matter: its closures, its heat spell, and the care that is due and done.
import type { PlugKey } from '../../../src/sim/index.ts';

export type Cared = { readonly equipment: string; readonly part?: string };

export type Life = {
  /** Of the first day: 0 = deep winter. */
  readonly season: number;
  readonly swap: { readonly day: number; readonly key: 'circulation_left' | 'circulation_right' };
  readonly isClosed: (day: number) => boolean;
  readonly isHot: (day: number) => boolean;
  /** What was cleaned or renewed on this day, and confirmed at noon. */
  readonly caredFor: (day: number) => readonly Cared[];
  /** Days since the plug's device was last cared for. */
  readonly wornDays: (key: PlugKey, day: number) => number;
};

/** D0 to D547: a Monday in early September to a Tuesday in early March. */
export const EIGHTEEN_MONTHS_DAYS = 548;
/** D136 is mid-January. */
const DEEP_WINTER_DAY = 136;
const CLOSURES = [
  [110, 118],
  [320, 327],
] as const;
const HEAT_SPELL = [315, 325] as const;
const OVERHAUL_DAY = 203;
/** The planned swap of the left circulation pump for one of 18 W. */
const SWAP_DAY = 483;
const SWAPPED = 'circulation_left';

const within = (day: number, [from, to]: readonly [number, number]): boolean => day >= from && day <= to;

/** Always on Mondays, within the usual intervals: circulation three months, return four, resin and lamps by the year's plan. */
const CARE: readonly { readonly keys: readonly PlugKey[]; readonly part?: string; readonly days: readonly number[] }[] =
  [
    { keys: ['circulation_left', 'circulation_right'], days: [84, 168, 252, 336, 420, SWAP_DAY] },
    { keys: ['return_pump'], days: [119, OVERHAUL_DAY, 301, 420, 525] },
    { keys: ['lamp_bank_1', 'lamp_bank_2'], part: 'fluorescent-tubes', days: [OVERHAUL_DAY] },
    { keys: ['top_off'], part: 'top-off-floats', days: [OVERHAUL_DAY] },
    { keys: ['ro_unit'], part: 'di-resin', days: [91, OVERHAUL_DAY, 315, 427] },
  ];

const equipmentOf = (key: PlugKey): string => key.replaceAll('_', '-');

/** `from`: the day that is taken as the first one, a Monday. */
export function eighteenMonths(from = 0): Life {
  // Hands come at noon.
  const lastCare = (key: PlugKey, day: number): number =>
    Math.max(
      0,
      ...CARE.flatMap(({ keys, days }) => (keys.includes(key) ? days.filter((one) => one + 0.5 <= day) : [])),
    );
  return {
    season: from - DEEP_WINTER_DAY,
    swap: { day: SWAP_DAY - from, key: SWAPPED },
    isClosed: (day) => CLOSURES.some((closure) => within(day + from, closure)),
    isHot: (day) => within(day + from, HEAT_SPELL),
    caredFor: (day) =>
      CARE.filter(({ days }) => days.includes(day + from)).flatMap(({ keys, part }) =>
        keys
          // The swapped pump is confirmed by itself, some time after it was swapped.
          .filter((key) => day + from !== SWAP_DAY || key !== SWAPPED)
          .map((key) => ({ equipment: equipmentOf(key), ...(part === undefined ? {} : { part }) })),
      ),
    wornDays(key, day) {
      const last = lastCare(key, day + from);
      return day + from - (last === 0 ? 0 : last + 0.5);
    },
  };
}
