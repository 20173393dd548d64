import type { FindingKind, Sure } from '../condition/index.ts';
import type { Measure, PartId, Usage } from '../model/index.ts';
import type { DurationMs, InstantMs } from '../units/index.ts';

export type StandingWord = 'fine' | 'order' | 'near' | 'due' | 'overdue' | 'unknown';

/** How a part stands against the first limit it will reach. */
export type Standing = {
  readonly part: PartId;
  readonly name: string;
  readonly word: StandingWord;
  /** One sentence: "UV lamp: 8,256 of 8,000 h lit; overdue since 11 days". */
  readonly reason: string;
  readonly measure: Measure | null;
  readonly used: Usage | null;
  readonly limit: number | null;
  /** Share of the limit used, best figure; null = unknown. */
  readonly share: number | null;
  /** When the limit is (or was) reached, 10/50/90 %; null where no rate is known. */
  readonly reachedAt: { readonly early: InstantMs; readonly likely: InstantMs; readonly late: InstantMs } | null;
  /** What those dates rest on: "from 400 days of use, busiest around January"; null for an age, which needs no forecast. */
  readonly restsOn?: string | null;
  /** Put off until then by a person; a debt that shows. */
  readonly putOffUntil: InstantMs | null;
  readonly all: readonly { readonly measure: Measure; readonly used: Usage; readonly limit: number }[];
  /** What was found of its condition, and weighs in its word; absent where nothing was. */
  readonly found?: readonly {
    readonly kind: FindingKind;
    readonly sure: Sure;
    readonly since: InstantMs;
    readonly evidence: string;
  }[];
};

export type ReminderAction = 'done' | 'later' | 'open';

/**
 * What to tell whom. `key` names part and life: a part that is due and then overdue keeps one notification, which is
 * updated. The word it was told with tells whether the same change was told already.
 */
export type Reminder = {
  readonly key: string;
  readonly part: PartId;
  readonly life: number;
  readonly word: StandingWord;
  readonly title: string;
  readonly message: string;
  /** Unguessable; carried inside the action strings and accepted once. */
  readonly token: string;
};

/** A reminder that was raised, or was being raised when the service stopped; rebuilt from the journal after a start. */
export type OpenReminder = {
  readonly key: string;
  readonly part: PartId;
  readonly life: number;
  readonly word: StandingWord;
  readonly token: string;
  /** `sending`: it may or may not have reached the hub, so it goes out again under the same key and token. */
  readonly state: 'sending' | 'raised';
};

export type ReminderEffect =
  | { readonly kind: 'raise'; readonly reminder: Reminder }
  | { readonly kind: 'clear'; readonly key: string };

export type RemindSettings = {
  /** "near" from this share of the limit. */
  readonly nearShare: number;
  /** "near" also when the limit is expected within this time. */
  readonly nearMs: DurationMs;
  readonly laterMs: DurationMs;
};
