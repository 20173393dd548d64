import type { Look, Style } from './output.ts';

/** A paragraph of a cell: it begins on a line of its own and is broken between words. */
export type Piece = { readonly text: string; readonly style?: Style };
export type Cell = string | Piece | readonly Piece[];

export type Column = {
  readonly title: string;
  /** Numbers stand at the right. */
  readonly right?: boolean;
  /** May be broken into lines where the whole would be too wide. */
  readonly wrap?: boolean;
};

const GAP = 2;
/** A broken column narrower than this can be read no more; the rows are then told one below the other. */
const LEAST_WRAP = 14;

/** Columns as wide as they need; those that may be broken share what is left of the width. */
export function table(look: Look, columns: readonly Column[], rows: readonly (readonly Cell[])[]): string {
  const cells = rows.map((row) => columns.map((_, index) => piecesOf(row[index])));
  const natural = columns.map(({ title }, index) =>
    Math.max(title.length, ...cells.flatMap((row) => (row[index] ?? []).map(({ text }) => text.length))),
  );
  const widths = columnWidths(columns, natural, look.width);
  if (widths === null) return stacked(look, columns, cells);
  const head = columns.map(({ title }) => [{ text: title, style: 'bold' as const }]);
  return [head, ...cells].map((row) => lines(look, columns, widths, row).join('\n')).join('\n');
}

/** Text broken between words; lines after the first are indented to stand below its beginning. */
export function hang(look: Look, first: string, text: string): string {
  const indent = ' '.repeat(first.length);
  return breakWords(text, Math.max(LEAST_WRAP, look.width - first.length))
    .map((line, index) => (index === 0 ? first : indent) + line)
    .join('\n');
}

function piecesOf(cell: Cell | undefined): readonly Piece[] {
  if (cell === undefined) return [];
  if (typeof cell === 'string') return [{ text: cell }];
  return 'text' in cell ? [cell] : cell;
}

/** Null where the columns that may be broken would become too narrow. */
function columnWidths(columns: readonly Column[], natural: readonly number[], width: number): readonly number[] | null {
  const gaps = GAP * (columns.length - 1);
  const isBroken = (index: number): boolean => columns[index]?.wrap === true;
  let left = width - gaps - natural.reduce((sum, own, index) => sum + (isBroken(index) ? 0 : own), 0);
  const result = [...natural];
  // The slimmest first: what it does not need is left to the others.
  const open = natural.map((_, index) => index).filter(isBroken);
  open.sort((a, b) => (natural[a] ?? 0) - (natural[b] ?? 0));
  for (const [place, index] of open.entries()) {
    const share = Math.floor(left / (open.length - place));
    const own = Math.min(natural[index] ?? 0, share);
    if (own < Math.min(LEAST_WRAP, natural[index] ?? 0)) return null;
    result[index] = own;
    left -= own;
  }
  return result.reduce((sum, own) => sum + own, gaps) > width ? null : result;
}

function lines(
  look: Look,
  columns: readonly Column[],
  widths: readonly number[],
  row: readonly (readonly Piece[])[],
): string[] {
  const broken = row.map((pieces, index) =>
    pieces.flatMap((piece) =>
      breakWords(piece.text, widths[index] ?? 0).map((text) => {
        const space = ' '.repeat(Math.max(0, (widths[index] ?? 0) - text.length));
        const told = piece.style === undefined ? text : look.paint(piece.style, text);
        return columns[index]?.right === true ? space + told : told + space;
      }),
    ),
  );
  const height = Math.max(1, ...broken.map((own) => own.length));
  return Array.from({ length: height }, (_, at) =>
    broken
      .map((own, index) => own[at] ?? ' '.repeat(widths[index] ?? 0))
      .join(' '.repeat(GAP))
      .trimEnd(),
  );
}

function stacked(look: Look, columns: readonly Column[], cells: readonly (readonly (readonly Piece[])[])[]): string {
  return cells
    .map((row) =>
      row
        .flatMap((pieces, index) => {
          const text = pieces.map((piece) => piece.text).join(', ');
          return text === '' ? [] : [hang(look, `${columns[index]?.title ?? ''}: `.replace(/^: /, ''), text)];
        })
        .join('\n'),
    )
    .join('\n\n');
}

/** A word longer than the width stays whole: an id or a path must be copied in one piece. */
function breakWords(text: string, width: number): string[] {
  const result: string[] = [];
  let line = '';
  for (const word of text.split(' ')) {
    if (line !== '' && line.length + 1 + word.length > width) {
      result.push(line);
      line = word;
    } else line = line === '' ? word : `${line} ${word}`;
  }
  return [...result, line];
}
