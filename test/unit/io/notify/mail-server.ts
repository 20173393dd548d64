// A mail server in a few lines: says what it is told to say and keeps what it hears.
import { createServer, type Server, type Socket } from 'node:net';
import { createSecureContext, createServer as createTlsServer, TLSSocket } from 'node:tls';
import { CERT, KEY } from './certificate.ts';

export type MailServerOptions = {
  readonly security?: 'tls' | 'starttls' | 'none';
  readonly auth?: string;
  /** Answers in the place of the usual ones, by the beginning of the command. */
  readonly answers?: Readonly<Record<string, string>>;
  /** Says nothing at all. */
  readonly mute?: boolean;
  /** Sends this in one piece with its word on STARTTLS, as somebody in between might. */
  readonly injected?: string;
};

export type TestMailServer = {
  readonly port: number;
  /** Each command with whether it came encrypted. */
  readonly heard: { readonly line: string; readonly encrypted: boolean }[];
  readonly mails: string[];
  close(): Promise<void>;
};

export async function mailServer(options: MailServerOptions = {}): Promise<TestMailServer> {
  const heard: { line: string; encrypted: boolean }[] = [];
  const mails: string[] = [];
  const sockets = new Set<Socket>();

  const talk = (socket: Socket, encrypted: boolean): void => {
    sockets.add(socket);
    socket.on('error', () => {});
    socket.setEncoding('utf8');
    let rest = '';
    let mail: string[] | null = null;
    let asked: 'name' | 'password' | null = null;
    const say = (text: string): void => void socket.write(`${text}\r\n`);
    const usual = (line: string): string => {
      const word = line.split(' ')[0]?.toUpperCase() ?? '';
      if (word === 'EHLO') {
        const offers = ['test.example greets you', 'SIZE 1000000'];
        if (options.security === 'starttls' && !encrypted) offers.push('STARTTLS');
        if (options.auth !== undefined && (encrypted || options.security !== 'starttls'))
          offers.push(`AUTH ${options.auth}`);
        return offers.map((offer, n) => `250${n === offers.length - 1 ? ' ' : '-'}${offer}`).join('\r\n');
      }
      if (word === 'DATA') return '354 go on';
      if (asked === 'name') {
        asked = 'password';
        return '334 UGFzc3dvcmQ6';
      }
      if (asked === 'password') {
        asked = null;
        return '235 welcome';
      }
      if (line === 'AUTH LOGIN') {
        asked = 'name';
        return '334 VXNlcm5hbWU6';
      }
      if (word === 'AUTH') return '235 welcome';
      if (word === 'QUIT') return '221 bye';
      if (word === 'STARTTLS') return '220 go ahead';
      return '250 ok';
    };
    const take = (line: string): void => {
      if (mail !== null) {
        if (line !== '.') mail.push(line.replace(/^\.\./, '.'));
        else {
          mails.push(mail.join('\r\n'));
          mail = null;
          say(options.answers?.['.'] ?? '250 taken');
        }
        return;
      }
      heard.push({ line, encrypted });
      const own = Object.entries(options.answers ?? {}).find(([begin]) => begin !== '.' && line.startsWith(begin))?.[1];
      const answer = own ?? usual(line);
      if (answer.startsWith('354')) mail = [];
      const secure = line.toUpperCase() === 'STARTTLS' && answer.startsWith('220');
      if (!secure) {
        say(answer);
        return;
      }
      socket.removeAllListeners('data');
      socket.write(`${answer}\r\n${options.injected ?? ''}`);
      talk(
        new TLSSocket(socket, { isServer: true, secureContext: createSecureContext({ cert: CERT, key: KEY }) }),
        true,
      );
    };
    socket.on('data', (chunk: string) => {
      rest += chunk;
      for (let end = rest.indexOf('\r\n'); end >= 0; end = rest.indexOf('\r\n')) {
        const line = rest.slice(0, end);
        rest = rest.slice(end + 2);
        take(line);
      }
    });
  };
  const greet = (socket: Socket, encrypted: boolean): void => {
    if (options.mute !== true) socket.write('220 test.example ESMTP\r\n');
    talk(socket, encrypted);
  };
  const server: Server =
    options.security === 'tls'
      ? createTlsServer({ cert: CERT, key: KEY }, (socket) => greet(socket, true))
      : createServer((socket) => greet(socket, false));
  server.on('error', () => {});
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const address = server.address();
  return {
    port: typeof address === 'object' && address !== null ? address.port : 0,
    heard,
    mails,
    close: () => {
      for (const socket of sockets) socket.destroy();
      return new Promise((resolve) => server.close(() => resolve()));
    },
  };
}

/** Header lines by name, and the text. */
export function opened(mail: string): { readonly headers: ReadonlyMap<string, string>; readonly text: string } {
  const [head = '', ...rest] = mail.split('\r\n\r\n');
  const lines = head.replaceAll(/\r\n[ \t]+/g, ' ').split('\r\n');
  const headers = new Map(lines.map((line) => [line.split(':')[0] ?? '', line.slice(line.indexOf(':') + 2)]));
  return { headers, text: Buffer.from(rest.join(''), 'base64').toString('utf8') };
}

export const subjectOf = (encoded: string): string =>
  encoded
    .replaceAll(/\?= =\?/g, '?==?')
    .replaceAll(/=\?utf-8\?B\?([^?]*)\?=/g, (_, text: string) => Buffer.from(text, 'base64').toString('utf8'));
