import { connect, type Socket } from 'node:net';
import { type ConnectionOptions, connect as connectTls, type TLSSocket } from 'node:tls';
import type { Timers } from '../../ports/index.ts';
import type { DurationMs } from '../../units/index.ts';

export type Reply = { readonly code: number; readonly lines: readonly string[] };

/** The server said no, or said nothing. `again`: it may say yes later. */
export class SmtpFailure extends Error {
  readonly again: boolean;
  constructor(message: string, again: boolean) {
    super(message);
    this.name = 'SmtpFailure';
    this.again = again;
  }
}

export type Wire = {
  /** One command and its whole answer; `what` is how it is called in errors, where the command itself may be a secret. */
  say(command: string, what: string, expected: number): Promise<Reply>;
  reply(what: string, expected: number): Promise<Reply>;
  /** From here on encrypted; what was said before is not believed. */
  secure(options: ConnectionOptions): Promise<void>;
  end(): void;
};

export type WireOptions = {
  readonly host: string;
  readonly port: number;
  readonly tls: ConnectionOptions | null;
  readonly timers: Timers;
  readonly deadlineMs: DurationMs;
};

/** A connection to a mail server, a line at a time, with a deadline on each. */
export async function openWire(options: WireOptions): Promise<Wire> {
  const { host, port, tls, timers, deadlineMs } = options;
  let socket: Socket | TLSSocket = tls === null ? connect({ host, port }) : connectTls({ host, port, ...tls });
  let text = '';
  let failed: SmtpFailure | null = null;
  let wake = (): void => {};

  const fail = (error: SmtpFailure): void => {
    failed ??= error;
    socket.destroy();
    wake();
  };
  const listen = (on: Socket | TLSSocket): void => {
    on.setEncoding('utf8');
    on.on('data', (chunk: string) => {
      text += chunk;
      // A reply is a few lines; a server that talks on is none.
      if (text.length > 65_536) fail(new SmtpFailure('the server talks without end', false));
      wake();
    });
    on.on('error', (error) => fail(new SmtpFailure(`the connection failed (${codeOf(error)})`, true)));
    on.on('close', () => fail(new SmtpFailure('the server closed the connection', true)));
  };
  /** Waits for what `ready` gives, at most the deadline. */
  const until = <T>(what: string, ready: () => T | null): Promise<T> =>
    new Promise((resolve, reject) => {
      const cancel = timers.after(deadlineMs, 'mail server', () =>
        fail(new SmtpFailure(`no answer to ${what} within ${deadlineMs / 1000} s`, true)),
      );
      wake = () => {
        const value = ready();
        if (value === null && failed === null) return;
        cancel();
        wake = () => {};
        if (value !== null) resolve(value);
        else reject(failed);
      };
      wake();
    });
  const reply = async (what: string, expected: number): Promise<Reply> => {
    const got = await until(what, () => {
      const found = firstReply(text);
      if (found === null) return null;
      text = found.rest;
      return found.reply;
    });
    if (got.code === expected) return got;
    throw new SmtpFailure(`the server answered ${got.code} to ${what}`, got.code < 500);
  };

  listen(socket);
  const opened = (event: 'connect' | 'secureConnect'): Promise<true> => {
    let isOpen = false;
    socket.once(event, () => {
      isOpen = true;
      wake();
    });
    return until('connecting', () => (isOpen ? true : null));
  };
  await opened(tls === null ? 'connect' : 'secureConnect');
  return {
    reply,
    say: (command, what, expected) => {
      socket.write(`${command}\r\n`);
      return reply(what, expected);
    },
    secure: async (secureOptions) => {
      const plain = socket;
      plain.removeAllListeners();
      // Whatever came in clear after the server's word is somebody else's.
      text = '';
      socket = connectTls({ socket: plain, host, ...secureOptions });
      listen(socket);
      await opened('secureConnect');
    },
    end: () => {
      socket.removeAllListeners();
      socket.on('error', () => {});
      socket.end();
      socket.destroySoon();
    },
  };
}

/** "250-first", "250 last": a reply ends with the line that has a space after its code. Null = not whole yet. */
export function firstReply(text: string): { readonly reply: Reply; readonly rest: string } | null {
  const lines: string[] = [];
  let at = 0;
  for (;;) {
    const end = text.indexOf('\n', at);
    if (end < 0) return null;
    const line = text.slice(at, end).replace(/\r$/, '');
    at = end + 1;
    const match = /^(\d{3})([ -]?)(.*)$/.exec(line);
    if (match === null) return { reply: { code: 0, lines: [] }, rest: text.slice(at) };
    lines.push(match[3] ?? '');
    if (match[2] !== '-') return { reply: { code: Number(match[1]), lines }, rest: text.slice(at) };
  }
}

const codeOf = (error: Error): string =>
  'code' in error && typeof error.code === 'string' ? error.code : 'no reason given';
