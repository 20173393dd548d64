import assert from 'node:assert/strict';
import { createServer, type IncomingMessage } from 'node:http';
import { describe, type TestContext, test } from 'node:test';
import { createHeartbeat, createWebhookPath } from '../../../../src/io/notify/index.ts';
import { realTimers, virtualSystem } from '../../../../src/io/system/index.ts';
import type { AlarmMessage } from '../../../../src/ports/index.ts';

const message: AlarmMessage = {
  key: 'guard_leak',
  kind: 'alarm',
  title: 'Slackwater alarm',
  text: 'Leak under the cabinet.',
  at: Date.UTC(2026, 4, 3, 2, 15),
  tank: 'Reading-room reef',
  simulated: false,
};

type Heard = {
  readonly method: string;
  readonly url: string;
  readonly headers: IncomingMessage['headers'];
  readonly body: string;
};

/** Answers with these codes in turn, the last one for ever; 0 = no answer. */
async function listener(t: TestContext, codes: readonly number[]) {
  const heard: Heard[] = [];
  const server = createServer((request, response) => {
    let body = '';
    request.on('data', (chunk: Buffer) => {
      body += chunk.toString();
    });
    request.on('end', () => {
      heard.push({ method: request.method ?? '', url: request.url ?? '', headers: request.headers, body });
      const code = codes[Math.min(heard.length, codes.length) - 1] ?? 200;
      if (code === 0) return;
      response.writeHead(code, code === 302 ? { location: 'http://127.0.0.1:1/elsewhere' } : {}).end('ok');
    });
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  t.after(() => {
    server.closeAllConnections();
    server.close();
  });
  const address = server.address();
  const port = typeof address === 'object' && address !== null ? address.port : 0;
  return { heard, url: `http://127.0.0.1:${port}/hook/s3cret-path` };
}

const path = (url: string, tryAgain: readonly number[] = [], deadlineMs = 2_000) =>
  createWebhookPath({ url, timers: realTimers(), tryAgain, deadlineMs });

describe('an alarm as a request', () => {
  test('arrives as JSON, with the header that was asked for', async (t) => {
    const { heard, url } = await listener(t, [204]);
    const hook = createWebhookPath({ url, authorization: 'Bearer abc', timers: realTimers(), tryAgain: [] });
    assert.deepEqual(await hook.send(message), { sent: true, tries: 1, detail: 'answered 204' });
    assert.equal(heard[0]?.method, 'POST');
    assert.equal(heard[0]?.headers.authorization, 'Bearer abc');
    assert.equal(heard[0]?.headers['content-type'], 'application/json');
    assert.deepEqual(JSON.parse(heard[0]?.body ?? ''), {
      key: 'guard_leak',
      kind: 'alarm',
      title: 'Slackwater alarm',
      text: 'Leak under the cabinet.',
      at: '2026-05-03T02:15:00.000Z',
      tank: 'Reading-room reef',
    });
  });

  test('is tried again after a fault of the other side, and told once it is taken', async (t) => {
    const { heard, url } = await listener(t, [503, 429, 200]);
    assert.deepEqual(await path(url, [1, 1, 1]).send(message), { sent: true, tries: 3, detail: 'answered 200' });
    assert.equal(heard.length, 3);
  });

  test('is not tried again where it is refused as it stands', async (t) => {
    const { heard, url } = await listener(t, [404]);
    assert.deepEqual(await path(url, [1, 1]).send(message), { sent: false, tries: 1, detail: 'answered 404' });
    assert.equal(heard.length, 1);
  });

  test('is not sent on to where a redirect points', async (t) => {
    const { url } = await listener(t, [302]);
    assert.equal((await path(url).send(message)).sent, false);
  });

  test('a listener that hangs is left after the deadline', async (t) => {
    const { url } = await listener(t, [0]);
    assert.deepEqual(await path(url, [], 150).send(message), {
      sent: false,
      tries: 1,
      detail: 'no answer within 0.15 s',
    });
  });

  test('gives up after its tries, without a word of the address', async () => {
    const outcome = await path('http://127.0.0.1:1/hook/s3cret-path', [1, 1]).send(message);
    assert.equal(outcome.sent, false);
    assert.equal(outcome.tries, 3);
    assert.ok(!outcome.detail.includes('s3cret'), outcome.detail);
    const bad = await path('no address at all s3cret').send(message);
    assert.ok(!bad.detail.includes('s3cret'), bad.detail);
  });

  test('a newer alarm of the same kind takes the place of one that waits', async (t) => {
    const { heard, url } = await listener(t, [503, 200]);
    const system = virtualSystem(0);
    const hook = createWebhookPath({ url, timers: system.timers, tryAgain: [60_000] });
    const first = hook.send(message);
    while (system.waiting().length === 0) await new Promise(setImmediate);
    const second = await hook.send({ ...message, text: 'Leak is over.' });
    assert.equal((await first).sent, false);
    assert.equal(second.sent, true);
    assert.equal(heard.length, 2);
  });

  test('what still waits when the service stops is dropped', async (t) => {
    const { url } = await listener(t, [503]);
    const system = virtualSystem(0);
    const hook = createWebhookPath({ url, timers: system.timers, tryAgain: [60_000, 60_000] });
    const sending = hook.send(message);
    while (system.waiting().length === 0) await new Promise(setImmediate);
    hook.stop();
    assert.equal((await sending).sent, false);
    assert.deepEqual(system.waiting(), []);
  });
});

describe('the sign of life', () => {
  const life = { tank: 'Reading-room reef', at: Date.UTC(2026, 4, 3), hub: 'down' };

  test('is a plain GET, or a POST that says how the hub is', async (t) => {
    const { heard, url } = await listener(t, [200]);
    const get = createHeartbeat({ url, method: 'GET', everyMs: 60_000 });
    assert.deepEqual(await get.beat(life), { heard: true, detail: 'answered 200' });
    await createHeartbeat({ url, method: 'POST', everyMs: 60_000 }).beat(life);
    assert.deepEqual(
      heard.map(({ method, body }) => [method, body]),
      [
        ['GET', ''],
        ['POST', '{"tank":"Reading-room reef","at":"2026-05-03T00:00:00.000Z","hub":"down"}'],
      ],
    );
  });

  test('that nobody hears is told without the address', async () => {
    const beat = await createHeartbeat({ url: 'http://127.0.0.1:1/s3cret', method: 'GET', everyMs: 1 }).beat(life);
    assert.equal(beat.heard, false);
    assert.ok(!beat.detail.includes('s3cret'));
  });
});
