import assert from 'node:assert/strict';
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { test } from 'node:test';
import { type LinkState, type LinkWaits, type ServiceLink, serviceLink } from '../../../src/nodes/index.ts';
import { eventually } from '../../support/index.ts';

const TOKEN = 'a-token-of-forty-characters-for-the-link';
const SHORT: Partial<LinkWaits> = { firstRetry: 1, longestRetry: 2, afterRefusal: 1, silence: 60_000 };

type Bench = {
  readonly link: ServiceLink;
  readonly states: LinkState['kind'][];
  readonly said: string[];
  readonly requests: IncomingMessage[];
  readonly listen: (more?: { onResync?(): void; onEvent?(event: unknown): void }) => () => void;
};

async function withServer(
  answer: (request: IncomingMessage, response: ServerResponse, count: number) => void,
  work: (bench: Bench) => Promise<void>,
  options: { readonly token?: string; readonly waits?: Partial<LinkWaits> } = {},
): Promise<void> {
  const requests: IncomingMessage[] = [];
  const server = createServer((request, response) => {
    requests.push(request);
    answer(request, response, requests.length);
  });
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
  const said: string[] = [];
  const states: LinkState['kind'][] = [];
  const say = (text: string): void => {
    said.push(text);
  };
  const { port } = server.address() as AddressInfo;
  const link = serviceLink({
    url: `http://127.0.0.1:${port}/`,
    token: options.token ?? TOKEN,
    say: { info: say, warn: say },
    waits: { ...SHORT, ...options.waits },
  });
  const listen: Bench['listen'] = (more = {}) => link.listen({ onState: ({ kind }) => states.push(kind), ...more });
  try {
    await work({ link, states, said, requests, listen });
  } finally {
    link.close();
    server.closeAllConnections();
    await new Promise((done) => server.close(done));
  }
}

const ready = (response: ServerResponse): void => {
  response.writeHead(200, { 'content-type': 'text/event-stream' });
  response.write('event: ready\ndata: {}\n\n');
};
const refuse = (response: ServerResponse, status: number, body: unknown): void => {
  response.writeHead(status, { 'content-type': 'application/json' }).end(JSON.stringify(body));
};
const standing = { part: 'lamp', name: 'Lamp', word: 'due', reason: 'worn' };

test('many listeners share one connection; the last to leave closes it, a new one opens it again', async () => {
  let closed = 0;
  const answer = (_request: IncomingMessage, response: ServerResponse): void => {
    ready(response);
    response.on('close', () => {
      closed += 1;
    });
  };
  await withServer(answer, async ({ requests, states, listen }) => {
    const leave = [listen(), listen(), listen()];
    await eventually('all up', () => states.filter((state) => state === 'up').length === 3);
    let late = 0;
    leave.push(listen({ onResync: () => (late += 1) }));
    assert.equal(late, 1, 'who comes late is told to read at once');
    assert.equal(requests.length, 1);
    assert.equal(requests[0]?.headers.authorization, `Bearer ${TOKEN}`);
    for (const one of leave) one();
    await eventually('closed', () => closed === 1);
    listen();
    await eventually('opened again', () => requests.length === 2);
  });
});

test('a lost connection comes back by itself, is said once, and each time asks to read anew', async () => {
  const answer = (_request: IncomingMessage, response: ServerResponse, count: number): void => {
    if (count >= 2 && count <= 5) response.socket?.destroy();
    else ready(response);
    if (count === 1) setImmediate(() => response.socket?.destroy());
  };
  await withServer(answer, async ({ requests, states, said, listen }) => {
    let resyncs = 0;
    listen({ onResync: () => (resyncs += 1) });
    await eventually('back', () => resyncs === 2);
    assert.equal(requests.length, 6);
    assert.deepEqual(states, ['connecting', 'up', 'down', 'up']);
    assert.deepEqual(
      said.map((text) => text.replace(/http\S*\d/, 'URL')),
      [
        'connected to the service at URL',
        'the service at URL is lost; trying again',
        'connected to the service at URL',
      ],
    );
  });
});

test('a connection without a sign of life is given up', async () => {
  // The first one opens and then says nothing at all.
  const answer = (_request: IncomingMessage, response: ServerResponse): void => ready(response);
  await withServer(
    answer,
    async ({ requests, states, listen }) => {
      listen();
      await eventually('given up after it was open', () => states.includes('up') && states.at(-1) === 'down');
      await eventually('tried again', () => requests.length >= 2);
    },
    { waits: { silence: 300 } },
  );
});

test('a refused credential is said once in the service’s words, and works again once it is known', async () => {
  const body = { code: 'SW-API-002', message: 'The credential is not known.', whatToDo: 'Check it.' };
  const answer = (_request: IncomingMessage, response: ServerResponse, count: number): void =>
    count <= 3 ? refuse(response, count === 3 ? 429 : 401, body) : ready(response);
  await withServer(answer, async ({ states, said, listen }) => {
    listen();
    await eventually('let in', () => states.includes('up'));
    assert.deepEqual(states, ['connecting', 'refused', 'up']);
    assert.equal(said[0], 'The credential is not known. Check it.');
    assert.equal(said.length, 2);
  });
});

test('no credential and a malformed one are never sent, and never quoted', async () => {
  for (const token of ['', `${TOKEN}\n`, `${TOKEN} x`, 'Ünïcode']) {
    await withServer(
      (_request, response) => ready(response),
      async ({ link, requests, said, states, listen }) => {
        listen();
        await eventually('refused', () => states.includes('refused'));
        await assert.rejects(link.ask('GET', '/v1/due'), (error: Error) => {
          assert.ok(token === '' || !error.message.includes(token.trim()));
          return error.name === 'ServiceRefusal';
        });
        assert.equal(requests.length, 0);
        assert.ok(token === '' || said.every((text) => !text.includes(token.trim())));
      },
      { token },
    );
  }
});

test('a listener that fails hurts neither the connection nor the others; unknown events are passed over', async () => {
  const answer = (_request: IncomingMessage, response: ServerResponse): void => {
    ready(response);
    response.write(': alive\n\nevent: novelty\ndata: {"x":1}\n\n');
    response.write('event: standing\ndata: {"kind":"standing"}\n\n');
    // Cut in the middle of a character and of a line.
    const bytes = Buffer.from(
      `id: r-1\nevent: standing\ndata: ${JSON.stringify({ kind: 'standing', at: 1, standing: { ...standing, name: 'Lämp' }, before: null })}\n\n`,
    );
    const middle = bytes.indexOf('ä') + 1;
    response.write(bytes.subarray(0, middle), () => response.write(bytes.subarray(middle)));
  };
  await withServer(answer, async ({ requests, said, listen }) => {
    const events: unknown[] = [];
    listen({
      onEvent: () => {
        throw new Error('a flow’s fault');
      },
    });
    listen({ onEvent: (event) => events.push(event) });
    await eventually('the event', () => events.length > 0);
    assert.deepEqual(events, [{ kind: 'standing', at: 1, standing: { ...standing, name: 'Lämp' }, before: null }]);
    assert.equal(said.filter((text) => text.includes('a flow’s fault')).length, 1);
    assert.equal(requests.length, 1);
  });
});

test('requests end in words: refused, unreachable, too slow, closed; an act of unknown outcome says so', async () => {
  let mode: 'refuse' | 'hang' | 'redirect' = 'refuse';
  const answer = (_request: IncomingMessage, response: ServerResponse): void => {
    if (mode === 'refuse')
      refuse(response, 409, { code: 'SW-SES-002', message: 'One is open.', whatToDo: 'Abort it.' });
    if (mode === 'redirect') response.writeHead(307, { location: 'http://127.0.0.1:9/' }).end();
  };
  await withServer(answer, async ({ link }) => {
    await assert.rejects(link.ask('POST', '/v1/session/start', {}), {
      message: 'One is open. Abort it.',
      code: 'SW-SES-002',
    });
    mode = 'redirect';
    await assert.rejects(link.ask('GET', '/v1/due'), /cannot be reached/);
  });
  mode = 'hang';
  await withServer(
    answer,
    async ({ link }) => {
      await assert.rejects(link.ask('GET', '/v1/due'), /did not answer in time\.$/);
      await assert.rejects(link.ask('POST', '/v1/session/abort'), /in time\. The outcome is unknown/);
    },
    { waits: { deadline: 30, longDeadline: 30 } },
  );
  await withServer(answer, async ({ link, requests }) => {
    const asked = link.ask('POST', '/v1/session/start', {});
    await eventually('sent', () => requests.length === 1);
    link.close();
    await assert.rejects(asked, /was closed\. The outcome is unknown/);
  });
});
