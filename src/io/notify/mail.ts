import type { ConnectionOptions } from 'node:tls';
import type { AlarmMessage, AlarmPath, Random, Timers } from '../../ports/index.ts';
import { type DurationMs, SECOND_MS } from '../../units/index.ts';
import { mailText } from './mail-text.ts';
import { createRetry, TRY_AGAIN, type Tried, type TryAgain } from './retry.ts';
import { openWire, type Reply, SmtpFailure, type Wire } from './smtp.ts';

export type MailServer = {
  readonly host: string;
  readonly port: number;
  /** `tls` from the first byte, `starttls` before anything is said; `none` for a server on this machine. */
  readonly security: 'tls' | 'starttls' | 'none';
  readonly login?: { readonly user: string; readonly password: string };
  readonly from: string;
  readonly to: readonly string[];
};

export type MailOptions = MailServer & {
  readonly timers: Timers;
  readonly random: Random;
  readonly deadlineMs?: DurationMs;
  readonly tryAgain?: TryAgain;
  /** Whom to trust beside the usual authorities: for tests. */
  readonly trust?: Pick<ConnectionOptions, 'ca'>;
};

const DEADLINE_MS: DurationMs = 20 * SECOND_MS;
/** A home has no name that a mail server could look up; an address in brackets is always allowed. */
const HELLO = 'EHLO [127.0.0.1]';

/** Each alarm as a mail of plain text, in a connection of its own. */
export function createMailPath(options: MailOptions): AlarmPath {
  const attempt = async (message: AlarmMessage): Promise<Tried> => {
    try {
      const refused = await deliver(options, message);
      const detail =
        refused.length === 0 ? 'the mail server took it' : `not taken for ${refused.length} of its addresses`;
      return { sent: true, again: false, detail };
    } catch (error) {
      if (error instanceof SmtpFailure) return { sent: false, again: error.again, detail: error.message };
      // A certificate that does not fit, a name that is not found: words of the runtime, without a secret of ours.
      const code = error instanceof Error && 'code' in error ? String(error.code) : 'no reason given';
      return { sent: false, again: true, detail: `the mail server could not be reached (${code})` };
    }
  };
  const { send, stop } = createRetry(options.timers, options.tryAgain ?? TRY_AGAIN, attempt);
  return { name: 'e-mail', send, stop };
}

/** Addresses the server did not take, where it took one at least. */
async function deliver(options: MailOptions, message: AlarmMessage): Promise<readonly string[]> {
  const { host, port, security, timers, deadlineMs = DEADLINE_MS, trust = {} } = options;
  const tls: ConnectionOptions = { servername: host, ...trust };
  const wire = await openWire({ host, port, timers, deadlineMs, tls: security === 'tls' ? tls : null });
  try {
    await wire.reply('its greeting', 220);
    let offers = await wire.say(HELLO, 'EHLO', 250);
    if (security === 'starttls') {
      // Without the offer there is no going on: what follows would be in clear.
      if (!offered(offers, 'STARTTLS')) throw new SmtpFailure('the server offers no STARTTLS', false);
      await wire.say('STARTTLS', 'STARTTLS', 220);
      await wire.secure(tls);
      offers = await wire.say(HELLO, 'EHLO', 250);
    }
    if (options.login !== undefined) await login(wire, offers, options.login);
    const refused = await address(wire, options);
    await wire.say('DATA', 'DATA', 354);
    const text = mailText(message, { ...options, id: options.random.token() });
    // Lines of base64 and of our own headers never begin with a dot; should one, it is doubled as the protocol wants it.
    await wire.say(`${text.replace(/^\./gm, '..')}\r\n.`, 'the message', 250);
    await wire.say('QUIT', 'QUIT', 221).catch(() => undefined);
    return refused;
  } finally {
    wire.end();
  }
}

const offered = (reply: Reply, word: string): boolean =>
  reply.lines.some((line) => line.toUpperCase().split(' ')[0] === word);

async function login(wire: Wire, offers: Reply, { user, password }: NonNullable<MailServer['login']>): Promise<void> {
  const ways =
    offers.lines
      .find((line) => line.toUpperCase().startsWith('AUTH'))
      ?.toUpperCase()
      .split(/[ =]/) ?? [];
  const encoded = (text: string): string => Buffer.from(text, 'utf8').toString('base64');
  if (ways.includes('PLAIN')) {
    await wire.say(`AUTH PLAIN ${encoded(`\0${user}\0${password}`)}`, 'the login', 235);
  } else if (ways.includes('LOGIN')) {
    await wire.say('AUTH LOGIN', 'the login', 334);
    await wire.say(encoded(user), 'the name', 334);
    await wire.say(encoded(password), 'the password', 235);
  } else throw new SmtpFailure('the server offers no login by password (PLAIN or LOGIN)', false);
}

async function address(wire: Wire, { from, to }: MailServer): Promise<readonly string[]> {
  await wire.say(`MAIL FROM:<${from}>`, 'the sender', 250);
  const refused: string[] = [];
  let failure: SmtpFailure | null = null;
  for (const one of to) {
    try {
      await wire.say(`RCPT TO:<${one}>`, 'an address', 250);
    } catch (error) {
      if (!(error instanceof SmtpFailure)) throw error;
      failure = error;
      refused.push(one);
    }
  }
  if (refused.length === to.length && failure !== null) throw failure;
  return refused;
}
