import assert from 'node:assert/strict';
import { lookup } from 'node:dns/promises';
import { readFile } from 'node:fs/promises';
import { describe, test } from 'node:test';
import { SlackwaterError } from '../../../src/errors/index.ts';
import { startApi } from '../../../src/web/index.ts';
import { fakeFace, fakeSystem } from './fake-face.ts';
import { ACCESS, MACHINE_TOKEN, PERSON_TOKEN, send, sendRaw, withApi } from './talk.ts';

const concrete = (path: string): string => path.replaceAll(/:[a-z]+/g, 'uv-lamp');

const countRoutes = async (): Promise<number> => {
  let count = 0;
  await withApi(async ({ api }) => {
    count = api.routes.length;
  });
  return count;
};

describe('every route, as the router itself lists them', () => {
  test('there are routes, and the acting ones are among them', async () => {
    await withApi(async ({ api }) => {
      const listed = api.routes.map(({ method, path }) => `${method} ${path}`).sort();
      assert.deepEqual(listed, [
        'GET /v1/acclimation',
        'GET /v1/attention',
        'GET /v1/condition',
        'GET /v1/due',
        'GET /v1/events',
        'GET /v1/guards',
        'GET /v1/parts/:part/limits',
        'GET /v1/procedures',
        'GET /v1/questions',
        'GET /v1/rehearse/:procedure',
        'GET /v1/resets',
        'GET /v1/session',
        'GET /v1/status',
        'GET /v1/usage',
        'GET /v1/usage/:part/why',
        'POST /v1/acclimation/:lamp/start',
        'POST /v1/acclimation/:lamp/stop',
        'POST /v1/dashboard/install',
        'POST /v1/guards/:guard/reset',
        'POST /v1/parts/:part/later',
        'POST /v1/parts/:part/limits',
        'POST /v1/parts/:part/recount',
        'POST /v1/parts/:part/replaced',
        'POST /v1/parts/:part/seed',
        'POST /v1/parts/:part/undo',
        'POST /v1/questions/:question/answer',
        'POST /v1/readings',
        'POST /v1/session/abort',
        'POST /v1/session/back',
        'POST /v1/session/confirm',
        'POST /v1/session/start',
        'POST /v1/sources/:counter/move',
        'POST /v1/sources/:counter/replace',
      ]);
    });
  });

  test('the page docs/api.md names each of them, and no other', async () => {
    const page = await readFile(new URL('../../../docs/api.md', import.meta.url), 'utf8');
    const written = [...page.matchAll(/^\| `(GET|POST) (\/v1\/\S+)`/gm)].map((match) => `${match[1]} ${match[2]}`);
    await withApi(async ({ api }) => {
      assert.deepEqual(written.sort(), api.routes.map(({ method, path }) => `${method} ${path}`).sort());
    });
  });

  test('refuses without a credential, and nothing reaches the service', async () => {
    await withApi(async ({ api, face }) => {
      for (const { method, path } of api.routes) {
        const got = await send(api, { method, path: concrete(path), token: null, body: '{}' });
        assert.equal(got.status, 401, `${method} ${path}`);
        assert.equal(got.json['code'], 'SW-API-001', `${method} ${path}`);
        assert.match(String(got.headers['www-authenticate']), /^Bearer/);
      }
      assert.deepEqual(face.calls, []);
    });
  });

  test('refuses a wrong credential in every form', async () => {
    const wrong = [
      `Bearer ${PERSON_TOKEN}x`,
      `Bearer ${PERSON_TOKEN.slice(0, -1)}`,
      `Bearer ${PERSON_TOKEN} ${MACHINE_TOKEN}`,
      `Basic ${Buffer.from(`Marit:${PERSON_TOKEN}`).toString('base64')}`,
      PERSON_TOKEN,
      'Bearer ',
      '',
    ];
    // A service of its own for every few routes: one that heard many wrong credentials answers no more of them.
    const many = await countRoutes();
    const firsts = Array.from({ length: Math.ceil(many / 15) }, (_, index) => 15 * index);
    for (const [authorization, first] of wrong.flatMap((one) => firsts.map((at) => [one, at] as const))) {
      await withApi(async ({ api, face }) => {
        for (const { method, path } of api.routes.slice(first, first + 15)) {
          const got = await send(api, {
            method,
            path: concrete(path),
            token: null,
            headers: { authorization },
            body: '{}',
          });
          assert.equal(got.status, 401, `${method} ${path} with "${authorization}"`);
        }
        assert.deepEqual(face.calls, []);
      });
    }
  });

  test('a credential in the address or a cookie is no credential', async () => {
    await withApi(async ({ api }) => {
      for (const { method, path } of api.routes) {
        const address = `${concrete(path)}?token=${PERSON_TOKEN}&access_token=${PERSON_TOKEN}`;
        const got = await send(api, { method, path: address, token: null, headers: { cookie: `t=${PERSON_TOKEN}` } });
        assert.equal(got.status, 401, `${method} ${path}`);
      }
    });
  });

  test('refuses a foreign Host, even with the right credential', async () => {
    await withApi(async ({ api, face }) => {
      const hosts = [
        'tank.example',
        'localhost.evil.example',
        '192.168.1.10',
        '10.0.0.1:8787',
        '127.0.0.1.evil.example',
      ];
      for (const { method, path } of api.routes) {
        for (const host of [...hosts, '[fe80::1]', 'user@localhost']) {
          const got = await send(api, { method, path: concrete(path), headers: { host }, body: '{}' });
          assert.equal(got.status, 421, `${method} ${path} for "${host}"`);
        }
        const nameless = `${method} ${concrete(path)} HTTP/1.1\r\nHost:\r\nAuthorization: Bearer ${PERSON_TOKEN}\r\n\r\n`;
        assert.match(await sendRaw(api, nameless), /^HTTP\/1\.1 421 /, `${method} ${path} without a name`);
      }
      assert.deepEqual(face.calls, []);
    });
  });

  test('acting routes take JSON only', async () => {
    await withApi(async ({ api, face }) => {
      const acting = api.routes.filter(({ method }) => method !== 'GET');
      assert.ok(acting.length >= 7);
      for (const { method, path } of acting) {
        for (const type of [
          'text/plain',
          'application/x-www-form-urlencoded',
          'multipart/form-data',
          'application/jsonx',
        ]) {
          const got = await send(api, { method, path: concrete(path), headers: { 'content-type': type }, body: '{}' });
          assert.equal(got.status, 415, `${method} ${path} as ${type}`);
          assert.equal(got.json['code'], 'SW-API-005');
        }
        const bare = await sendRaw(
          api,
          `${method} ${concrete(path)} HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer ${PERSON_TOKEN}\r\nConnection: close\r\n\r\n`,
        );
        assert.match(bare, /^HTTP\/1\.1 415 /, `${method} ${path} without a type`);
      }
      assert.deepEqual(face.calls, []);
    });
  });

  test('answers carry the security headers and no leave for other origins', async () => {
    await withApi(async ({ api }) => {
      const tries = [
        { path: '/v1/status' },
        { path: '/v1/status', token: null },
        { path: '/nowhere' },
        { path: '/v1/status', headers: { host: 'tank.example' } },
        { path: '/v1/session/start', method: 'POST', body: '{' },
        { path: '/%zz' },
      ];
      for (const one of tries) {
        const { headers } = await send(api, { ...one, headers: { origin: 'http://tank.example', ...one.headers } });
        assert.equal(headers['x-content-type-options'], 'nosniff', one.path);
        assert.equal(headers['cache-control'], 'no-store', one.path);
        assert.match(String(headers['content-security-policy']), /default-src 'none'/, one.path);
        assert.equal(headers['access-control-allow-origin'], undefined, one.path);
      }
    });
  });
});

describe('around the routes', () => {
  test('unknown paths, methods and malformed addresses ask for the credential first', async () => {
    await withApi(async ({ api }) => {
      const tries = [
        { path: '/' },
        { path: '/v1' },
        { path: '/v1/../etc/passwd' },
        { path: '/%zz' },
        { path: '/v1/usage/%ff/why' },
        { path: '/v1/status', method: 'OPTIONS' },
        { path: '/v1/status', method: 'HEAD' },
        { path: '/v1/status', method: 'DELETE' },
        { path: '/v1/session/start', method: 'PUT' },
        { path: `/v1/usage/${'x'.repeat(5_000)}/why` },
      ];
      for (const one of tries) {
        assert.equal((await send(api, { ...one, token: null })).status, 401, `${one.method ?? 'GET'} ${one.path}`);
      }
      for (const one of tries) {
        const type = { 'content-type': 'application/json' };
        const { status } = await send(api, { ...one, headers: type });
        assert.equal(status, 404, `${one.method ?? 'GET'} ${one.path} with the credential`);
      }
    });
  });

  test('socket upgrades and tunnels are refused', async () => {
    await withApi(async ({ api }) => {
      const upgrade =
        'Connection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==\r\n';
      for (const path of ['/', '/v1/events', '/v1/session']) {
        const text = await sendRaw(api, `GET ${path} HTTP/1.1\r\nHost: localhost\r\n${upgrade}\r\n`);
        assert.match(text, /^HTTP\/1\.1 401 /, path);
      }
      assert.match(await sendRaw(api, 'CONNECT 127.0.0.1:22 HTTP/1.1\r\nHost: localhost\r\n\r\n'), /^HTTP\/1\.1 401 /);
      assert.match(await sendRaw(api, 'not http at all\r\n\r\n'), /^HTTP\/1\.1 400 /);
      assert.match(await sendRaw(api, 'GET /v1/status HTTP/1.0\r\n\r\n'), /^HTTP\/1\.[01] 421 /);
    });
  });

  test('opened on localhost, every address behind that name stands behind the same door', async () => {
    const system = fakeSystem();
    const api = await startApi({ face: fakeFace(), host: 'localhost', port: 0, access: ACCESS, system });
    try {
      for (const { address, family } of await lookup('localhost', { all: true })) {
        const url = `http://${family === 6 ? `[${address}]` : address}:${api.port}/v1/status`;
        const authorization = `Bearer ${PERSON_TOKEN}`;
        assert.equal((await fetch(url)).status, 401, url);
        assert.equal((await fetch(url, { headers: { authorization } })).status, 200, url);
      }
    } finally {
      await api.close();
    }
  });

  test('an empty access list lets nobody in', async () => {
    const system = fakeSystem();
    const api = await startApi({ face: fakeFace(), host: 'localhost', port: 0, access: [], system });
    try {
      const answer = await fetch(`${api.url}/v1/status`, { headers: { authorization: `Bearer ${PERSON_TOKEN}` } });
      assert.equal(answer.status, 401);
    } finally {
      await api.close();
    }
  });

  test('wrong credentials are slowed per address; the right one still gets in; a minute later it is over', async () => {
    await withApi(async ({ api, system }) => {
      const wrong = (): Promise<{ status: number; headers: Readonly<Record<string, unknown>> }> =>
        send(api, { path: '/v1/status', token: 'z'.repeat(40) });
      for (let count = 0; count < 20; count += 1) assert.equal((await wrong()).status, 401);
      system.advance(20_000);
      const limited = await wrong();
      assert.equal(limited.status, 429);
      assert.equal(limited.headers['retry-after'], '40');
      assert.equal((await send(api, { path: '/v1/status' })).status, 200);
      await wrong();
      assert.equal(system.lines.filter((line) => line.includes('many wrong credentials')).length, 1);
      system.advance(40_000);
      assert.equal((await wrong()).status, 401);
    });
  });
});

describe('bodies', () => {
  const post = { method: 'POST', path: '/v1/session/start' };

  test('keys that reach a prototype, unknown keys and wrong kinds are refused by name', async () => {
    await withApi(async ({ api, face }) => {
      const bad = [
        '{"procedure":"p","__proto__":{"x":1}}',
        '{"procedure":"p","constructor":{"prototype":{"x":1}}}',
        '{"procedure":{"__proto__":1}}',
        '{"procedure":"p","constructor":1}',
        '{"procedure":"p","extra":1}',
        '{"procedure":7}',
        '{"procedure":""}',
        '{}',
        '[]',
        '"p"',
        'null',
        '{"procedure":"p"',
        '',
      ];
      for (const body of bad) {
        const got = await send(api, { ...post, body });
        assert.equal(got.status, 400, body);
        assert.match(String(got.json['code']), /^SW-API-00[57]$/, body);
        assert.notEqual(got.json['whatToDo'], '', body);
      }
      assert.deepEqual(face.calls, []);
    });
  });

  test('a wrong body is explained: where, what was found, what was expected', async () => {
    await withApi(async ({ api }) => {
      const cases = [
        ['/v1/session/start', '{"procedure":7}', 'procedure: found 7, expected a string'],
        ['/v1/session/start', '{}', 'procedure: found nothing, expected a string'],
        [
          '/v1/readings',
          '{"what":"salinity","value":"35","unit":"ppt"}',
          'value: found a text of 2 characters, expected a number',
        ],
        ['/v1/parts/uv-lamp/replaced', '{"at":1.5}', 'at: found 1.5, expected a whole number'],
        ['/v1/parts/uv-lamp/later', '{"until":1}', 'until: found an unknown key, expected only the keys of this route'],
      ] as const;
      for (const [path, body, words] of cases) {
        const got = await send(api, { method: 'POST', path, body });
        assert.equal(got.status, 400);
        assert.ok(String(got.json['message']).includes(words), `${got.json['message']} should say "${words}"`);
      }
    });
  });

  test('a body past the limit is not read', async () => {
    await withApi(async ({ api, face }) => {
      const got = await send(api, { ...post, body: JSON.stringify({ procedure: 'p'.repeat(20_000) }) });
      assert.equal(got.status, 413);
      assert.equal(got.json['code'], 'SW-API-008');
      assert.deepEqual(face.calls, []);
    });
  });
});

describe('opening', () => {
  const wanted = (code: string) => (error: unknown) => error instanceof SlackwaterError && error.code === code;

  test('only on loopback, only with credentials that cannot be guessed, and never on a taken port', async () => {
    const system = fakeSystem();
    const base = { face: fakeFace(), port: 0, system };
    for (const host of ['0.0.0.0', '::', '192.168.1.10', 'tank.example']) {
      await assert.rejects(startApi({ ...base, host, access: ACCESS }), wanted('SW-API-014'));
    }
    const short = [{ name: 'Marit', kind: 'person', token: 'secret' }] as const;
    await assert.rejects(startApi({ ...base, host: '127.0.0.1', access: short }), wanted('SW-API-013'));
    await withApi(async ({ api }) => {
      const taken = startApi({ ...base, host: '127.0.0.1', port: api.port, access: ACCESS });
      await assert.rejects(taken, wanted('SW-API-010'));
      assert.equal(base.face.listeners(), 0);
    });
  });

  test('faults inside are the catalogue’s, with no stack and no credential in answer or log', async () => {
    await withApi(async ({ api, face, system }) => {
      face.due = () => {
        throw new TypeError('deep inside');
      };
      const got = await send(api, { path: '/v1/due' });
      assert.equal(got.status, 500);
      assert.equal(got.json['code'], 'SW-API-011');
      assert.doesNotMatch(got.text, /\.ts:\d|\bat \w+ \(/);
      assert.ok(system.lines.some((line) => line.includes('GET /v1/due failed')));
      await send(api, { method: 'POST', path: '/v1/session/start', body: '{"procedure":"skimmer-service"}' });
      assert.ok(system.lines.some((line) => line.includes('person Marit POST /v1/session/start: 200')));
      for (const line of system.lines) assert.ok(!line.includes(PERSON_TOKEN));
    });
  });
});
