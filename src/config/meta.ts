import { z } from 'zod';
import type { SlackwaterError } from '../errors/index.ts';

/** Makes the error once the place in the file is known. */
export type Report = (at: string, path: string) => SlackwaterError;

/** What editors, the reference page and messages say of a key. Lives beside the key's type in the schema. */
export type Help = {
  readonly description: string;
  /** What belongs there, as in "expected a volume in L, gal". */
  readonly expected: string;
  readonly examples: readonly (string | number)[];
  /** Allowed values, as text. */
  readonly range?: string;
  /** What a word of a closed list is: "role", "kind of sensor". */
  readonly what?: string;
  /** The value is, or may be mistaken for, a secret: never shown in a message. */
  readonly secret?: boolean;
  /** A sharper message than the general ones, where the key has one for this value. */
  readonly explain?: (value: unknown) => Report | null;
  /** The same for a key that does not belong in this group. */
  readonly explainKey?: (key: string) => Report | null;
};

export const HELP = z.registry<Help>();

/** A value as messages show it. */
export function shown(value: unknown): string {
  if (value === null || value === undefined) return 'nothing';
  if (typeof value === 'string') return `"${value}"`;
  if (typeof value === 'number' || typeof value === 'boolean') return String(value);
  return Array.isArray(value) ? 'a list' : 'a group of keys';
}

/** The key's own text for a place that has no file position: `equipment.heater-1.power`. */
export function pathText(path: readonly PropertyKey[]): string {
  return path.length === 0 ? 'top level' : path.map(String).join('.');
}

type AnyDef = z.core.$ZodTypeDef & {
  readonly innerType?: z.core.$ZodType;
  readonly in?: z.core.$ZodType;
  readonly shape?: Readonly<Record<string, z.core.$ZodType>>;
  readonly valueType?: z.core.$ZodType;
  readonly element?: z.core.$ZodType;
};

const defOf = (schema: z.core.$ZodType): AnyDef => schema._zod.def;

/** What is under one of zod's wrappers (optional, default, transform), or null where there is no wrapper. */
function unwrap(schema: z.core.$ZodType): z.core.$ZodType | null {
  const def = defOf(schema);
  return def.innerType ?? (def.type === 'pipe' ? (def.in ?? null) : null);
}

/** The type itself, wrappers taken off. */
export function bare(schema: z.core.$ZodType): z.core.$ZodType {
  const under = unwrap(schema);
  return under === null ? schema : bare(under);
}

/** The help of a key, wherever among its wrappers it was given. */
export function helpOf(schema: z.core.$ZodType): Help | null {
  const own = HELP.get(schema);
  if (own !== undefined) return own;
  const under = unwrap(schema);
  return under === null ? null : helpOf(under);
}

/** What stands for a key that is left out, or null. */
export function defaultOf(schema: z.core.$ZodType): unknown {
  const def = defOf(schema) as AnyDef & { readonly defaultValue?: unknown };
  if (def.type === 'prefault' || def.type === 'default') return def.defaultValue;
  const under = unwrap(schema);
  return under === null ? null : defaultOf(under);
}

export function isOptional(schema: z.core.$ZodType): boolean {
  return schema._zod.optin === 'optional';
}

/** The part of the schema that rules over a path, or null where the schema has no such key. */
export function schemaAt(schema: z.core.$ZodType, path: readonly PropertyKey[]): z.core.$ZodType | null {
  const [step, ...rest] = path;
  if (step === undefined) return schema;
  const def = defOf(bare(schema));
  const next = def.shape !== undefined ? def.shape[String(step)] : (def.valueType ?? def.element);
  return next === undefined ? null : schemaAt(next, rest);
}

/** Keys allowed in a group, with their types, in the order of the schema; empty for anything else. */
export function shapeOf(schema: z.core.$ZodType): Readonly<Record<string, z.core.$ZodType>> {
  return defOf(bare(schema)).shape ?? {};
}

/** The type of the entries, for groups named by the keeper. */
export function entryOf(schema: z.core.$ZodType): z.core.$ZodType | null {
  return defOf(bare(schema)).valueType ?? null;
}
