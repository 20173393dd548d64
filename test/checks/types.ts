/** What stands behind a row; see README.md. */
export type Grade = 'A' | 'library' | 'B' | 'C' | 'practice' | 'memory' | 'arithmetic';

export type CheckValue =
  | number
  | string
  | boolean
  | null
  | readonly CheckValue[]
  | { readonly [key: string]: CheckValue };

/** One for all numbers of the row, or one for each key of `expected`. */
export type Tolerance = number | Readonly<Record<string, number>>;

export type CheckRow = {
  readonly id: string;
  readonly topic: string;
  readonly check: string;
  readonly inputs: Readonly<Record<string, unknown>>;
  readonly expected: CheckValue;
  readonly tolerance: Tolerance;
  readonly relative?: true;
  readonly unit: string;
  readonly source: string;
  readonly grade: Grade;
  readonly note?: string;
};

/** `never` as argument lets each solver name the inputs that it reads. */
export type Solvers = Readonly<Record<string, (inputs: never) => CheckValue>>;

export const COUNTED: readonly Grade[] = ['A', 'library'];

/**
 * One row held against the program. `error` is the largest difference of any number in it, in the measure of the
 * tolerance, and for each key where the tolerances are.
 */
export type Checked = {
  readonly row: CheckRow;
  readonly ours: CheckValue;
  readonly error: Tolerance;
  readonly holds: boolean;
};
