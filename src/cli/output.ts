import { stripVTControlCharacters, styleText } from 'node:util';

/** Where a command prints: text for people, JSON for programs. Progress goes to standard error. */
export type Output = {
  line(text?: string): void;
  json(value: unknown): void;
  /** On a terminal one line that renews itself; elsewhere a line each time `text` changes much. */
  progress(text: string): void;
  progressDone(): void;
};

type Stream = NodeJS.WriteStream;

export function createOutput(out: Stream = process.stdout, err: Stream = process.stderr): Output {
  let shown = '';
  let lastPlain = '';
  return {
    line: (text = '') => out.write(`${text}\n`),
    json: (value) => out.write(`${JSON.stringify(value, null, 2)}\n`),
    progress: (text) => {
      if (err.isTTY) {
        err.write(`\r${text.padEnd(shown.length)}`);
        shown = text;
        return;
      }
      // In a log a line at each whole tenth is enough.
      const plain = text.replace(/\d(?:\.\d+)? ?%/, '0 %');
      if (plain !== lastPlain) err.write(`${text}\n`);
      lastPlain = plain;
    },
    progressDone: () => {
      if (shown !== '') err.write(`\r${' '.repeat(shown.length)}\r`);
      shown = '';
    },
  };
}

type Style = 'bold' | 'dim' | 'red' | 'yellow' | 'green';

/** Colour beside words, never instead; none under NO_COLOR or into a file (the runtime sees to both). */
export function styled(style: Style, text: string): string {
  return styleText(style, text, { stream: process.stdout });
}

const visible = (text: string): number => stripVTControlCharacters(text).length;

/** Columns as wide as they need; numbers to the right. */
export function table(
  head: readonly string[],
  rows: readonly (readonly string[])[],
  right: readonly number[] = [],
): string {
  const widths = head.map((title, column) => Math.max(title.length, ...rows.map((row) => visible(row[column] ?? ''))));
  const cell = (text: string, column: number): string => {
    const space = ' '.repeat(Math.max(0, (widths[column] ?? 0) - visible(text)));
    return right.includes(column) ? space + text : text + space;
  };
  const line = (cells: readonly string[]): string => cells.map(cell).join('  ').trimEnd();
  return [styled('bold', line(head)), ...rows.map(line)].join('\n');
}
