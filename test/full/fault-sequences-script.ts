// The language of the fault sequences: what may happen to an entity, and what to the hub or to the service under all of them.
import type { Kind } from './fault-sequences-world.ts';

export type Action =
  /** The device changes, and tells the hub if it can. */
  | { readonly do: 'happens'; readonly value: number }
  /** Its meter begins again or is another one; the hub is told if it can be. */
  | { readonly do: 'meter shows'; readonly reading: number }
  /** The hub loses the device: what happens from now on is not reported. */
  | { readonly do: 'lost'; readonly as: 'unavailable' | 'unknown' }
  /** The device is back and tells where it stands. */
  | { readonly do: 'back' }
  /** A report that is not true; the next one is true again. */
  | { readonly do: 'says'; readonly text: string }
  /** The same state once more, so many times: as news to the hub, or as a mere report. */
  | { readonly do: 'repeats'; readonly times: number; readonly asNews: boolean }
  /** Written past the integration, as a foreign program would: any text, some attributes. */
  | { readonly do: 'posted'; readonly text?: string; readonly attributes: Readonly<Record<string, unknown>> }
  | { readonly do: 'removed' }
  | { readonly do: 'renamed' };

export type HubAction =
  | 'hub stops'
  | 'hub is killed'
  | 'hub starts'
  | 'hub starts, its clock jitters'
  | 'recorder is set to write every five seconds'
  | 'hub purges all'
  | `clocks go forward at midnight, in ${number} minutes`
  | `midnight twice, in ${number} minutes`
  | `midnight in ${number} minutes`
  | 'midnight has passed'
  | 'service stops'
  | 'service is killed'
  | 'service starts';

export type Step<A> = readonly [minute: number, ...actions: readonly A[]];

/** All sequences of a phase run side by side. Its clock stands still while the hub or the service is starting or ending. */
export type Phase = {
  readonly id: string;
  readonly title: string;
  readonly minutes: number;
  readonly hub: readonly Step<HubAction>[];
};

export type Sequence = {
  readonly id: string;
  readonly title: string;
  readonly kind: Kind;
  readonly phase: string;
  /** Where the meter stands at first. */
  readonly reading?: number;
  /** How long a watt reading may be held, in tank-minutes. */
  readonly holdMinutes?: number;
  /** Nothing was hidden from the service for good: its best figure must be the truth. */
  readonly exact: boolean;
  readonly script: readonly Step<Action>[];
  /** What to think of it; the figures beside it come from the run. */
  readonly remark: string;
};

export const on: Action = { do: 'happens', value: 1 };
export const off: Action = { do: 'happens', value: 0 };
export const watts = (value: number): Action => ({ do: 'happens', value });
export const runs = (value: number): Action => ({ do: 'happens', value });
export const meterShows = (reading: number): Action => ({ do: 'meter shows', reading });
export const unavailable: Action = { do: 'lost', as: 'unavailable' };
export const unknown: Action = { do: 'lost', as: 'unknown' };
export const back: Action = { do: 'back' };
export const says = (text: string): Action => ({ do: 'says', text });
export const repeats = (times: number): Action => ({ do: 'repeats', times, asNews: false });
export const repeatsAsNews = (times: number): Action => ({ do: 'repeats', times, asNews: true });

export const removed: Action = { do: 'removed' };
export const renamed: Action = { do: 'renamed' };
export const posted = (attributes: Readonly<Record<string, unknown>>, text?: string): Action => ({
  do: 'posted',
  attributes,
  ...(text === undefined ? {} : { text }),
});

/** The same actions again every so many minutes. */
export const every = (from: number, step: number, times: number, ...actions: readonly Action[]): Step<Action>[] =>
  Array.from({ length: times }, (_, index): Step<Action> => [from + index * step, ...actions]);
