import { styleText } from 'node:util';

export type Style = 'bold' | 'dim' | 'red' | 'yellow' | 'green';

/** How text may look where it goes: so many columns wide, and with or without colour. */
export type Look = {
  readonly width: number;
  /** Colour beside words, never instead of them. */
  paint(style: Style, text: string): string;
};

/** Where a command prints: text for people, JSON for programs. Progress and log go to standard error. */
export type Output = {
  readonly look: Look;
  line(text?: string): void;
  json(value: unknown): void;
  /** Standard error: what is no part of the answer. */
  note(text: string): void;
  /** A finished line of the log, which must not run into a progress line. */
  log(line: string): void;
  /** On a terminal one line that renews itself; elsewhere a line at each quarter. */
  progress(what: string, share: number): void;
  progressDone(): void;
};

/** What is used of a stream; a terminal has columns. */
export type Stream = NodeJS.WritableStream & { readonly isTTY?: boolean; readonly columns?: number };

/** Files, pipes and terminals that do not say how wide they are. */
const DEFAULT_WIDTH = 100;
/** Longer lines are hard to read even where the terminal has room. */
const MAX_WIDTH = 160;

export function createOutput(out: Stream = process.stdout, err: Stream = process.stderr): Output {
  let shown = '';
  let lastQuarter = '';
  const clear = (): void => {
    if (shown !== '') err.write(`\r${' '.repeat(shown.length)}\r`);
  };
  const draw = (): void => {
    if (shown !== '') err.write(`\r${shown}`);
  };
  const aside = (line: string): void => {
    clear();
    err.write(line);
    draw();
  };
  return {
    look: lookOf(out),
    line: (text = '') => void out.write(`${text}\n`),
    json: (value) => void out.write(`${JSON.stringify(value, null, 2)}\n`),
    note: (text) => aside(`${text}\n`),
    log: aside,
    progress: (what, share) => {
      if (err.isTTY === true) {
        clear();
        shown = `${what}: ${Math.round(100 * share)} %`;
        draw();
        return;
      }
      // In a file or a log a line that renews itself would be noise.
      const quarter = `${what}: ${25 * Math.floor(4 * share)} %`;
      if (quarter !== lastQuarter) err.write(`${quarter}\n`);
      lastQuarter = quarter;
    },
    progressDone: () => {
      clear();
      shown = '';
    },
  };
}

function lookOf(out: Stream): Look {
  const noColour = (process.env['NO_COLOR'] ?? '') !== '' || process.env['TERM'] === 'dumb';
  return {
    width: Math.min(MAX_WIDTH, out.isTTY === true ? (out.columns ?? DEFAULT_WIDTH) : DEFAULT_WIDTH),
    // The runtime sees to terminals without colour and to FORCE_COLOR.
    paint: (style, text) => (noColour ? text : styleText(style, text, { stream: out as NodeJS.WritableStream })),
  };
}
