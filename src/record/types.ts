import type { Bounds, CounterId, Measure, PartId } from '../model/index.ts';
import type { SessionEvent } from '../procedure/index.ts';
import type { StandingWord } from '../remind/index.ts';
import type { InstantMs } from '../units/index.ts';

/**
 * Journal entries: append-only, versioned, replayed after a start. `v` is the shape's version; a reader knows every
 * version ever shipped. Session events are stored before their effects go out.
 */
export type JournalEntry =
  | {
      readonly v: 1;
      readonly kind: 'session-event';
      readonly at: InstantMs;
      readonly session: string;
      readonly event: SessionEvent;
    }
  | {
      readonly v: 1;
      readonly kind: 'part-fitted';
      readonly at: InstantMs;
      readonly part: PartId;
      readonly life: number;
      readonly fittedAt: InstantMs;
      readonly by: string;
      readonly note: string;
      readonly usageAtRemoval: Readonly<Partial<Record<Measure, Bounds>>>;
      readonly baseline: Readonly<Record<CounterId, Readonly<Partial<Record<Measure, Bounds>>>>>;
    }
  | {
      readonly v: 1;
      readonly kind: 'put-off';
      readonly at: InstantMs;
      readonly part: PartId;
      readonly until: InstantMs;
      readonly by: string;
    }
  | {
      readonly v: 1;
      readonly kind: 'reminder';
      readonly at: InstantMs;
      readonly key: string;
      readonly change: 'sending' | 'raised' | 'cleared';
      readonly token: string;
      /** What was told of which part, so that the same change is not told again; `reminderEntry` fills these in. */
      readonly part?: PartId;
      readonly life?: number;
      readonly word?: StandingWord;
    }
  | {
      readonly v: 1;
      readonly kind: 'reading';
      readonly at: InstantMs;
      readonly what: string;
      readonly value: number;
      readonly unit: string;
      readonly by: string;
    }
  | { readonly v: 1; readonly kind: 'note'; readonly at: InstantMs; readonly text: string };

export type JournalRow = { readonly seq: number; readonly entry: JournalEntry };
