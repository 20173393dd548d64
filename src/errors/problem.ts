import { CATALOGUE, type ErrorCode } from './catalogue/index.ts';
import type { CatalogueEntry, PlaceholdersOf } from './entry.ts';

export type ErrorParams = Readonly<Record<string, string | number>>;

/** The parameters a code needs: every name between braces in its two texts. */
export type ParamNames<C extends ErrorCode> = PlaceholdersOf<
  (typeof CATALOGUE)[C]['template'] | (typeof CATALOGUE)[C]['whatToDo']
>;

export type ParamsOf<C extends ErrorCode> = Readonly<Record<ParamNames<C>, string | number>>;

/** Codes without placeholders take no second argument. */
type ParamsArgument<C extends ErrorCode> = [ParamNames<C>] extends [never] ? [] : [params: ParamsOf<C>];

/** A mistake or fault that a person can be told about. `details` are the single findings where one error stands for many. */
export class SlackwaterError extends Error {
  override readonly name = 'SlackwaterError';
  readonly code: ErrorCode;
  readonly params: ErrorParams;
  readonly transient: boolean;
  readonly whatToDo: string;
  readonly details: readonly SlackwaterError[];

  constructor(
    code: ErrorCode,
    params: ErrorParams,
    more: { readonly cause?: unknown; readonly details?: readonly SlackwaterError[] } = {},
  ) {
    const entry: CatalogueEntry = CATALOGUE[code];
    super(fill(entry.template, params), more.cause === undefined ? undefined : { cause: more.cause });
    this.code = code;
    this.params = params;
    this.transient = entry.lasting === 'transient';
    this.whatToDo = fill(entry.whatToDo, params);
    this.details = more.details ?? [];
  }

  /** For `--json` and API answers: no stack, no cause. */
  toJSON(): Record<string, unknown> {
    return {
      code: this.code,
      message: this.message,
      whatToDo: this.whatToDo,
      transient: this.transient,
      ...(this.details.length === 0 ? {} : { details: this.details.map((detail) => detail.toJSON()) }),
    };
  }
}

/** Builds an error from the catalogue; an unknown code or a missing parameter does not compile. */
export function problem<C extends ErrorCode>(code: C, ...rest: ParamsArgument<C>): SlackwaterError {
  return new SlackwaterError(code, rest[0] ?? {});
}

/** As `problem`, keeping the failure underneath for the log. */
export function problemFrom<C extends ErrorCode>(cause: unknown, code: C, ...rest: ParamsArgument<C>): SlackwaterError {
  return new SlackwaterError(code, rest[0] ?? {}, { cause });
}

/** One error that stands for several findings. */
export function problemWith<C extends ErrorCode>(
  details: readonly SlackwaterError[],
  code: C,
  ...rest: ParamsArgument<C>
): SlackwaterError {
  return new SlackwaterError(code, rest[0] ?? {}, { details });
}

/** A placeholder without a value stays visible rather than turning into an empty word. */
function fill(text: string, params: ErrorParams): string {
  return text.replace(/\{(\w+)\}/g, (whole, name: string) =>
    Object.hasOwn(params, name) ? String(params[name]) : whole,
  );
}
