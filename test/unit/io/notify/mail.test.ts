import assert from 'node:assert/strict';
import { describe, type TestContext, test } from 'node:test';
import { createMailPath, type MailServer } from '../../../../src/io/notify/index.ts';
import { realRandom, realTimers } from '../../../../src/io/system/index.ts';
import type { AlarmMessage } from '../../../../src/ports/index.ts';
import { CERT } from './certificate.ts';
import { type MailServerOptions, mailServer, opened, subjectOf } from './mail-server.ts';

const message: AlarmMessage = {
  key: 'leak',
  kind: 'alarm',
  title: 'Slackwater alarm',
  text: 'Leak under the cabinet: top-off is off. Temperature 25.4 °C.',
  at: Date.UTC(2026, 4, 3, 2, 15),
  tank: 'Quayside reading-room reef',
  simulated: false,
};

const PASSWORD = 'correct horse battery';

async function post(t: TestContext, server: MailServerOptions, mail: Partial<MailServer> = {}, sent = message) {
  const at = await mailServer(server);
  t.after(() => at.close());
  const path = createMailPath({
    host: 'localhost',
    port: at.port,
    security: server.security ?? 'none',
    from: 'reef@example.org',
    to: ['robin@example.org'],
    timers: realTimers(),
    random: realRandom,
    deadlineMs: 2_000,
    tryAgain: [],
    trust: { ca: CERT },
    ...mail,
  });
  return { at, outcome: await path.send(sent) };
}

describe('an alarm as a mail', () => {
  for (const security of ['tls', 'starttls', 'none'] as const)
    test(`arrives whole over ${security}`, async (t) => {
      const { at, outcome } = await post(t, { security });
      assert.deepEqual(outcome, { sent: true, tries: 1, detail: 'the mail server took it' });
      const { headers, text } = opened(at.mails[0] ?? '');
      assert.equal(headers.get('From'), '<reef@example.org>');
      assert.equal(headers.get('To'), '<robin@example.org>');
      assert.equal(headers.get('Date'), 'Sun, 03 May 2026 02:15:00 +0000');
      assert.equal(subjectOf(headers.get('Subject') ?? ''), 'Slackwater alarm: Quayside reading-room reef');
      assert.match(text, /^Leak under the cabinet: top-off is off\. Temperature 25\.4 °C\.\r\n\r\nTank: Quayside/);
      const clear = at.heard.filter(({ encrypted }) => !encrypted).map(({ line }) => line);
      if (security === 'tls') assert.deepEqual(clear, []);
      if (security === 'starttls') assert.deepEqual(clear, ['EHLO [127.0.0.1]', 'STARTTLS']);
    });

  for (const auth of ['PLAIN LOGIN', 'LOGIN', 'XOAUTH2 PLAIN'])
    test(`logs in where the server offers ${auth}`, async (t) => {
      const { at, outcome } = await post(
        t,
        { security: 'starttls', auth },
        { login: { user: 'reef', password: PASSWORD } },
      );
      assert.equal(outcome.sent, true);
      assert.equal(at.mails.length, 1);
      const plain = Buffer.from(`\0reef\0${PASSWORD}`).toString('base64');
      const secret = auth === 'LOGIN' ? Buffer.from(PASSWORD).toString('base64') : `AUTH PLAIN ${plain}`;
      assert.deepEqual(
        at.heard.filter(({ line }) => line === secret).map(({ encrypted }) => encrypted),
        [true],
      );
    });

  test('goes to all addresses, and a refused one does not keep it from the others', async (t) => {
    const to = ['gone@example.org', 'robin@example.org'];
    const { at, outcome } = await post(t, { answers: { 'RCPT TO:<gone': '550 no such user' } }, { to });
    assert.deepEqual(outcome, { sent: true, tries: 1, detail: 'not taken for 1 of its addresses' });
    assert.equal(at.mails.length, 1);
  });

  test('text of a sensor cannot become a header or the end of the mail', async (t) => {
    const nasty = { ...message, title: 'x\r\nBcc: all@example.org', text: 'a\r\n.\r\nQUIT\r\n.hidden' };
    const { at, outcome } = await post(t, {}, {}, nasty);
    assert.equal(outcome.sent, true);
    const { headers, text } = opened(at.mails[0] ?? '');
    assert.equal(headers.has('Bcc'), false);
    assert.match(text, /^a\r\n\.\r\nQUIT\r\n\.hidden/);
    assert.equal(at.heard.filter(({ line }) => line === 'QUIT').length, 1);
  });
});

describe('a mail server that is not to be trusted', () => {
  test('whose certificate nobody vouches for gets nothing', async (t) => {
    const { at, outcome } = await post(t, { security: 'tls' }, { trust: {} } as Partial<MailServer>);
    assert.equal(outcome.sent, false);
    assert.match(outcome.detail, /DEPTH_ZERO_SELF_SIGNED_CERT|SELF_SIGNED/);
    assert.deepEqual(at.heard, []);
  });

  test('that offers no STARTTLS hears neither login nor mail', async (t) => {
    const { at, outcome } = await post(
      t,
      { security: 'none', auth: 'PLAIN' },
      { security: 'starttls', login: { user: 'reef', password: PASSWORD } },
    );
    assert.deepEqual(outcome, { sent: false, tries: 1, detail: 'the server offers no STARTTLS' });
    assert.deepEqual(
      at.heard.map(({ line }) => line),
      ['EHLO [127.0.0.1]'],
    );
  });

  test('answers slipped in before the encryption are not believed', async (t) => {
    const { at, outcome } = await post(t, { security: 'starttls', injected: '250 AUTH PLAIN\r\n235 welcome\r\n' });
    // Either the handshake fails on them or they are thrown away; the mail goes encrypted or not at all.
    if (outcome.sent) assert.ok(at.heard.slice(2).every(({ encrypted }) => encrypted));
    else assert.deepEqual(at.mails, []);
  });
});

describe('what a mail server answers', () => {
  const cases = [
    [
      '535 for ever',
      { auth: 'PLAIN', answers: { AUTH: '535 5.7.8 bad password' } },
      'the server answered 535 to the login',
    ],
    ['a refused sender', { answers: { MAIL: '550 not you' } }, 'the server answered 550 to the sender'],
    ['no address taken', { answers: { RCPT: '550 no such user' } }, 'the server answered 550 to an address'],
    ['a refused mail', { answers: { '.': '554 spam' } }, 'the server answered 554 to the message'],
    ['no reply at all', { mute: true }, 'no answer to its greeting within 0.3 s'],
    ['nonsense', { answers: { EHLO: 'hello there' } }, 'the server answered 0 to EHLO'],
  ] as const;
  for (const [name, server, detail] of cases)
    test(`${name} is told without a secret in it`, async (t) => {
      const { outcome } = await post(t, server, { ...LOGIN(name), deadlineMs: 300 } as never);
      assert.deepEqual(outcome, { sent: false, tries: 1, detail });
      assert.ok(!outcome.detail.includes(PASSWORD));
    });
  const LOGIN = (name: string) =>
    name === '535 for ever' ? { login: { user: 'reef', password: PASSWORD } } : { login: undefined };

  test('"later" is tried again, "never" is not', async (t) => {
    const later = await post(t, { answers: { MAIL: '451 try later' } }, { tryAgain: [1, 1] } as never);
    assert.equal(later.outcome.tries, 3);
    const never = await post(t, { answers: { MAIL: '550 no' } }, { tryAgain: [1, 1] } as never);
    assert.equal(never.outcome.tries, 1);
  });

  test('a port where nobody listens is tried again', async () => {
    const gone = await mailServer();
    await gone.close();
    const path = createMailPath({
      ...{ host: '127.0.0.1', port: gone.port, security: 'none', from: 'a@b.c', to: ['d@e.f'] },
      ...{ timers: realTimers(), random: realRandom, tryAgain: [1] },
    });
    assert.deepEqual(await path.send(message), {
      sent: false,
      tries: 2,
      detail: 'the connection failed (ECONNREFUSED)',
    });
  });
});
