import {
  type Document,
  isMap,
  isPair,
  isScalar,
  isSeq,
  LineCounter,
  type Node,
  type Pair,
  parseDocument,
  visit,
} from 'yaml';
import { problem, type SlackwaterError } from '../errors/index.ts';
import { pathText } from './meta.ts';

/** Where a finding points: at the key itself or at what stands behind it. */
export type Spot = 'key' | 'value';

/** A YAML text with the place of every key, so that a message can name line and column. */
export type Source = {
  readonly file: string;
  readonly value: unknown;
  /** file:line:column. A place that does not exist in the text gives the nearest group around it. */
  at(path: readonly PropertyKey[], spot: Spot): string;
  /** For sorting findings in the order of the text. */
  offset(path: readonly PropertyKey[], spot: Spot): number;
  readonly findings: readonly SlackwaterError[];
};

type Place = { readonly key: number; readonly value: number };

export function readSource(text: string, file: string): Source {
  const lines = new LineCounter();
  // Keys given twice are reported by the walk below, with both places.
  const doc = parseDocument(text, { lineCounter: lines, prettyErrors: false, uniqueKeys: false });
  const at = (offset: number): string => {
    const { line, col } = lines.linePos(offset);
    return `${file}:${Math.max(line, 1)}:${Math.max(col, 1)}`;
  };
  // What the parser says after its first error is mostly fallout of that one.
  const findings = [...doc.errors.slice(0, 1), ...doc.warnings].map((each) => {
    const quote = openQuote(doc, each.pos[0]);
    const detail = quote === null ? yamlDetail(each.code, each.message) : 'a quote that opens here is never closed';
    return problem('SW-CFG-002', { at: at(quote ?? each.pos[0]), detail });
  });
  const places = new Map<string, Place>();
  if (doc.contents !== null)
    walk(doc.contents, [], places, (path, first, second, key) => {
      const firstLine = lines.linePos(first).line;
      findings.push(problem('SW-CFG-010', { at: at(second), path: pathText(path), found: key, firstLine }));
    });
  const offset = (path: readonly PropertyKey[], spot: Spot): number => {
    const place = places.get(idOf(path));
    if (place !== undefined) return spot === 'key' ? place.key : place.value;
    return path.length === 0 ? 0 : offset(path.slice(0, -1), 'key');
  };
  return {
    file,
    value: findings.length > 0 ? null : doc.toJS(),
    at: (path, spot) => at(offset(path, spot)),
    offset,
    findings,
  };
}

function walk(
  node: unknown,
  path: readonly string[],
  places: Map<string, Place>,
  twice: (path: readonly string[], first: number, second: number, key: string) => void,
): void {
  if (isSeq(node)) {
    node.items.forEach((item, index) => {
      const start = startOf(item) ?? 0;
      const below = [...path, String(index)];
      places.set(idOf(below), { key: start, value: start });
      walk(item, below, places, twice);
    });
  }
  if (!isMap(node)) return;
  for (const pair of node.items) {
    if (!isPair(pair)) continue;
    const key = keyText(pair);
    const below = [...path, key];
    const keyStart = startOf(pair.key) ?? 0;
    const before = places.get(idOf(below));
    if (before !== undefined) {
      twice(path, before.key, keyStart, key);
      continue;
    }
    places.set(idOf(below), { key: keyStart, value: startOf(pair.value) ?? keyStart });
    walk(pair.value, below, places, twice);
  }
}

function keyText(pair: Pair<unknown, unknown>): string {
  return isScalar(pair.key) ? String(pair.key.value) : String(pair.key);
}

function startOf(node: unknown): number | undefined {
  return (node as Node | null)?.range?.[0];
}

function idOf(path: readonly PropertyKey[]): string {
  return path.map(String).join('\u0000');
}

/** Where the quote starts that swallowed the text up to `end`, if one did. */
function openQuote(doc: Document.Parsed, end: number): number | null {
  let start: number | null = null;
  visit(doc, {
    Scalar(_, node) {
      const quoted = node.type === 'QUOTE_DOUBLE' || node.type === 'QUOTE_SINGLE';
      const range = node.range;
      if (quoted && range && doc.errors[0]?.code === 'MISSING_CHAR' && range[1] >= end) start = range[0];
    },
  });
  return start;
}

/** The parser's own words, shortened to what a keeper needs. */
function yamlDetail(code: string, message: string): string {
  if (code === 'TAG_RESOLVE_FAILED')
    return 'a tag such as !secret is not read here; point to a secret with env or file';
  if (code === 'TAB_AS_INDENT') return 'a tab stands where spaces belong';
  return message.replace(/\s+/g, ' ').replace(/\.$/, '');
}
