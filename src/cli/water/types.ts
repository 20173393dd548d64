import type { QuantityKind } from '../../units/index.ts';

/** What an option of a topic takes. A `duration` is milliseconds inside, a `wire` a size, a `flag` takes nothing. */
export type Takes =
  | QuantityKind
  | 'duration'
  | 'number'
  | 'wire'
  | 'convention'
  | 'flag'
  | 'run'
  | 'night'
  | { readonly oneOf: readonly string[] };

export type TopicOption = {
  readonly name: string;
  readonly takes: Takes;
  readonly help: string;
  /** As written behind the option. */
  readonly example: string;
  /** Used when it is left out, as a person would write it. */
  readonly fallback?: string;
  /** May be given several times. */
  readonly many?: true;
};

/** A unit that no kind has; `us` where keepers in the United States read another. */
export type PlainUnit = { readonly unit: string; readonly us?: { readonly unit: string; readonly factor: number } };

/** One number of an answer, in the product's unit of its kind. */
export type Shown = {
  readonly kind: QuantityKind | PlainUnit;
  readonly value: number;
  readonly low?: number;
  readonly high?: number;
  readonly decimals: number;
};

export type Result = {
  readonly what: string;
  readonly answer: Shown;
  readonly convention?: string;
  readonly source: string;
  /** Further figures, keyed by their name in words. */
  readonly also?: Readonly<Record<string, Shown>>;
  /** Warnings and what an answer leaves out, a sentence each. */
  readonly notes?: readonly string[];
};

export type Topic = {
  readonly name: string;
  readonly summary: string;
  readonly options: readonly TopicOption[];
  /** Where it holds, in a sentence. */
  readonly range: string;
  /** Words behind `slackwater water NAME`, each with another use. */
  readonly examples: readonly string[];
  readonly run: (given: Given) => Result;
};

/** What the person gave, read by kind; a mistake names the option. */
export type Given = {
  has(name: string): boolean;
  quantity(name: string): number;
  maybe(name: string): number | undefined;
  text(name: string): string;
  flag(name: string): boolean;
  all(name: string): readonly string[];
};
