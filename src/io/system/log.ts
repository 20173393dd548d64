import type { Clock, Log } from '../../ports/index.ts';

export type LogOptions = {
  /** Where finished lines go; default: standard error. */
  readonly write?: (line: string) => void;
  /** `quiet` drops what is only information. */
  readonly quiet?: boolean;
  /** Texts that must never appear, e.g. the hub's token. */
  readonly secrets?: readonly string[];
};

const stderr = (line: string): void => {
  process.stderr.write(line);
};

// A whole line for each entry, so that no text from outside can pass itself off as another entry.
const oneLine = (text: string): string => text.replace(/[\r\n]+/g, ' ⏎ ').replace(/\p{Cc}/gu, '');

/** One line an entry: time in UTC, how serious, what. */
export function lineLog(clock: Clock, { write = stderr, quiet = false, secrets = [] }: LogOptions = {}): Log {
  const hidden = secrets.filter((secret) => secret !== '');
  const put = (word: string, text: string): void => {
    const told = hidden.reduce((rest, secret) => rest.replaceAll(secret, '•••'), oneLine(text));
    write(`${new Date(clock.now()).toISOString()} ${word} ${told}\n`);
  };
  return {
    info: (text) => {
      if (!quiet) put('info ', text);
    },
    warn: (text) => put('warn ', text),
    error: (text) => put('error', text),
  };
}

/** Keeps entries instead of printing them. */
export function keptLog(): Log & { readonly lines: readonly string[] } {
  const lines: string[] = [];
  return {
    lines,
    info: (text) => void lines.push(`info ${text}`),
    warn: (text) => void lines.push(`warn ${text}`),
    error: (text) => void lines.push(`error ${text}`),
  };
}
