import type { Findings } from './findings.ts';
import type { Written } from './schema.ts';

/** What the later checks need to know beside the parsed text. */
export type BuildContext = {
  readonly written: Written;
  /** Ids as they stand in the text, those of unreadable entries too, so that one mistake makes one message. */
  readonly ids: Readonly<Record<'equipment' | 'sensors' | 'counters' | 'parts' | 'people', readonly string[]>>;
  readonly findings: Findings;
  readonly warnings: string[];
  /** Folder of the configuration; paths in it start there. */
  readonly folder: string;
};

/** Leaves out what is undefined: an absent key and an undefined one are not the same to the model. */
export function optional<T extends Readonly<Record<string, unknown>>>(
  fields: T,
): { readonly [K in keyof T]?: Exclude<T[K], undefined> } {
  const kept = Object.entries(fields).filter(([, value]) => value !== undefined);
  return Object.fromEntries(kept) as { readonly [K in keyof T]?: Exclude<T[K], undefined> };
}

/** `return-pump` → "Return pump", `uv-unit` → "UV unit". */
export function sentenceName(id: string): string {
  const words = id
    .split('-')
    .map((word) => (Object.hasOwn(ABBREVIATIONS, word) ? (ABBREVIATIONS[word] ?? word) : word));
  const text = words.join(' ');
  return text.startsWith('pH') ? text : `${text[0]?.toUpperCase() ?? ''}${text.slice(1)}`;
}

const ABBREVIATIONS: Readonly<Record<string, string>> = {
  uv: 'UV',
  ro: 'RO',
  led: 'LED',
  ph: 'pH',
  di: 'DI',
  tds: 'TDS',
};
