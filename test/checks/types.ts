/** What stands behind a row; see README.md. */
export type Grade = 'A' | 'library' | 'B' | 'C' | 'practice' | 'memory' | 'arithmetic';

export type CheckValue =
  | number
  | string
  | boolean
  | null
  | readonly CheckValue[]
  | { readonly [key: string]: CheckValue };

export type CheckRow = {
  readonly id: string;
  readonly topic: string;
  readonly check: string;
  readonly inputs: Readonly<Record<string, unknown>>;
  readonly expected: CheckValue;
  readonly tolerance: number;
  readonly relative?: true;
  readonly unit: string;
  readonly source: string;
  readonly grade: Grade;
  readonly note?: string;
};

/** `never` as argument lets each solver name the inputs that it reads. */
export type Solvers = Readonly<Record<string, (inputs: never) => CheckValue>>;

export const COUNTED: readonly Grade[] = ['A', 'library'];

/** One row held against the program. `error` is the largest difference of any number in it, in the measure of the tolerance. */
export type Checked = {
  readonly row: CheckRow;
  readonly ours: CheckValue;
  readonly error: number;
  readonly holds: boolean;
};
