import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { SlackwaterError } from '../../../src/errors/index.ts';
import { apiClient } from '../../../src/web/index.ts';
import { eventually } from '../../support/index.ts';
import { DUE, USAGE, viewOf, WHY } from './fake-face.ts';
import { type Bench, MACHINE_TOKEN, PERSON_TOKEN, send, withApi } from './talk.ts';

const MARIT = { kind: 'person', name: 'Marit', via: 'api' };
const FLOWS = { kind: 'machine', name: 'flows' };
const code = (wanted: string) => (error: unknown) => error instanceof SlackwaterError && error.code === wanted;
const clientsOf = ({ api }: Bench) => ({
  person: apiClient(api.url, PERSON_TOKEN),
  machine: apiClient(api.url, MACHINE_TOKEN),
});

describe('looking', () => {
  test('gives what the service says, to persons and machines alike', async () => {
    await withApi(async (bench) => {
      for (const client of Object.values(clientsOf(bench))) {
        assert.deepEqual(await client.due(), [DUE]);
        assert.deepEqual(await client.usage(), [USAGE]);
        assert.deepEqual(await client.why('uv-lamp'), [WHY]);
        assert.deepEqual(await client.procedures(), [{ id: 'skimmer-service', title: 'Skimmer service' }]);
        assert.equal((await client.rehearse('skimmer-service')).title, 'Skimmer service');
        assert.equal(await client.session(), null);
      }
      const { person, machine } = clientsOf(bench);
      const status = { hub: 'up', hubVersion: '2025.4.4', tank: 'Invented tank', simulated: true };
      assert.deepEqual(await person.status(), { ...status, you: MARIT });
      assert.deepEqual(await machine.status(), { ...status, you: FLOWS });
    });
  });

  test('the service’s own refusals arrive with their code, words and status', async () => {
    await withApi(async (bench) => {
      const { person } = clientsOf(bench);
      await assert.rejects(person.why('no/such part?'), (error) => {
        assert.ok(error instanceof SlackwaterError);
        assert.equal(error.message, 'There is no part "no/such part?"; there is: uv-lamp.');
        assert.equal(error.whatToDo, 'Look at `usage`.');
        return code('SW-SES-014')(error);
      });
      assert.equal((await send(bench.api, { path: '/v1/usage/other/why' })).status, 404);
    });
  });
});

describe('acting', () => {
  test('a session is started, confirmed and aborted in the name of the credential', async () => {
    await withApi(async (bench) => {
      const { person, machine } = clientsOf(bench);
      assert.deepEqual(await machine.startSession('skimmer-service'), viewOf('flows'));
      await assert.rejects(person.startSession('skimmer-service'), code('SW-SES-002'));
      const answer = { session: 'session-1', step: 'unplug:skimmer', nonce: 'nonce-1' };
      const refused = await machine.confirm(answer);
      assert.equal(refused.accepted, false);
      assert.match(refused.why, /carries no person/);
      assert.equal((await person.confirm(answer)).accepted, true);
      assert.equal((await machine.abort())?.status, 'aborted');
      assert.equal(await person.abort(), null);
      assert.deepEqual(bench.face.calls, [
        { what: 'start', args: ['skimmer-service', FLOWS] },
        { what: 'start', args: ['skimmer-service', MARIT] },
        { what: 'confirm', args: [{ ...answer, actor: FLOWS }] },
        { what: 'confirm', args: [{ ...answer, actor: MARIT }] },
        { what: 'abort', args: [FLOWS] },
        { what: 'abort', args: [MARIT] },
      ]);
    });
  });

  test('a typed value goes with the confirmation; what is back is a person’s word', async () => {
    await withApi(async (bench) => {
      const { person, machine } = clientsOf(bench);
      const answer = { session: 'session-1', step: 'reading:salt', nonce: 'nonce-1', value: 35.1 };
      await person.confirm(answer);
      await assert.rejects(machine.back('skimmer'), code('SW-API-003'));
      await person.back('skimmer');
      assert.deepEqual(bench.face.calls, [
        { what: 'confirm', args: [{ ...answer, actor: MARIT }] },
        { what: 'back', args: ['skimmer', MARIT] },
      ]);
      const body = JSON.stringify({ session: 's', step: 'x', nonce: 'n', value: '35' });
      const got = await send(bench.api, { method: 'POST', path: '/v1/session/confirm', token: MACHINE_TOKEN, body });
      assert.equal(got.status, 400);
    });
  });

  test('nobody can name themselves: an actor in the body is refused', async () => {
    await withApi(async ({ api, face }) => {
      const body = JSON.stringify({ session: 's', step: 'x', nonce: 'n', actor: MARIT });
      const got = await send(api, { method: 'POST', path: '/v1/session/confirm', token: MACHINE_TOKEN, body });
      assert.equal(got.status, 400);
      assert.deepEqual(face.calls, []);
    });
  });

  test('records are a person’s to make; a machine is refused before the service hears of it', async () => {
    await withApi(async (bench) => {
      const { person, machine } = clientsOf(bench);
      const asked = [
        () => machine.replaced('uv-lamp'),
        () => machine.putOff('uv-lamp'),
        () => machine.reading('salinity', 35, 'ppt'),
        () => machine.dashboardInstall(),
      ];
      for (const ask of asked) await assert.rejects(ask(), code('SW-API-003'));
      assert.deepEqual(bench.face.calls, []);

      assert.equal((await person.replaced('uv-lamp', 1_000, 'new lamp')).life, 2);
      assert.equal((await person.replaced('uv-lamp')).life, 2);
      assert.equal((await person.putOff('uv-lamp')).putOffUntil, 1);
      await person.reading('salinity', 35, 'ppt');
      assert.deepEqual(await person.dashboardInstall(), { path: 'tank' });
      assert.deepEqual(bench.face.calls, [
        { what: 'replaced', args: ['uv-lamp', MARIT, 1_000, 'new lamp'] },
        { what: 'replaced', args: ['uv-lamp', MARIT, undefined, undefined] },
        { what: 'putOff', args: ['uv-lamp', MARIT] },
        { what: 'reading', args: ['salinity', 35, 'ppt', MARIT] },
        { what: 'dashboardInstall', args: [] },
      ]);
    });
  });
});

describe('the client', () => {
  test('says in the catalogue’s words that nothing runs, or that something else does', async () => {
    let url = '';
    await withApi(async ({ api }) => {
      url = api.url;
      await assert.rejects(apiClient(url, 'w'.repeat(40)).due(), code('SW-API-002'));
      await assert.rejects(apiClient(`${url}/elsewhere`, PERSON_TOKEN).due(), code('SW-API-006'));
    });
    await assert.rejects(apiClient(url, PERSON_TOKEN).due(), code('SW-CLI-004'));
  });
});

test('a token that no header can carry is refused without being quoted', () => {
  for (const token of ['', `${PERSON_TOKEN}\n`, `${PERSON_TOKEN} `, 'Ünïcode'.repeat(5)]) {
    assert.throws(() => apiClient('http://127.0.0.1:1', token), code('SW-API-002'));
  }
});

describe('events', () => {
  const standing = { kind: 'standing', at: 5, standing: DUE, before: 'due' } as const;
  const alarm = (at: number) => ({ kind: 'alarm', at, code: 'foreign-hand', text: 'It came on.' }) as const;

  test('reach every listener in order, and end with the listener', async () => {
    await withApi(async (bench) => {
      const stop = new AbortController();
      const seen: unknown[] = [];
      const ready = Promise.withResolvers<void>();
      const ended = (async () => {
        for await (const event of clientsOf(bench).machine.events(stop.signal, ready.resolve)) {
          seen.push(event);
          if (seen.length === 2) stop.abort();
        }
      })();
      await ready.promise;
      bench.face.emit(standing);
      bench.face.emit(alarm(6));
      await ended;
      assert.deepEqual(seen, [standing, alarm(6)]);
    });
  });

  test('a listener that comes back with the last id it saw gets what it missed, or is told that it cannot', async () => {
    await withApi(async (bench) => {
      for (let at = 1; at <= 300; at += 1) bench.face.emit(alarm(at));
      const from = async (lastEventId: string, until: RegExp): Promise<string> => {
        const stop = new AbortController();
        const answer = await fetch(`${bench.api.url}/v1/events`, {
          headers: { authorization: `Bearer ${PERSON_TOKEN}`, 'last-event-id': lastEventId },
          signal: stop.signal,
        });
        assert.equal(answer.headers.get('content-type'), 'text/event-stream; charset=utf-8');
        assert.equal(answer.headers.get('x-content-type-options'), 'nosniff');
        let text = '';
        const decoder = new TextDecoder();
        assert.ok(answer.body);
        for await (const chunk of answer.body) {
          text += decoder.decode(chunk, { stream: true });
          if (until.test(text)) break;
        }
        stop.abort();
        return text;
      };
      const resumed = await from('abcdefgh-298', /abcdefgh-300\n.*\n.*\n\n/);
      assert.deepEqual(resumed.match(/^id: .*$/gm), ['id: abcdefgh-299', 'id: abcdefgh-300']);
      for (const lost of ['abcdefgh-10', 'abcdefgh-301', 'otherrun-298', 'nonsense']) {
        const text = await from(lost, /\n\n.*\n\n|event: missed/);
        assert.match(text, /event: missed/, lost);
        assert.doesNotMatch(text, /^id:/m, lost);
      }
    });
  });

  test('silence carries a heartbeat, listeners are limited, and closing ends them all', async () => {
    await withApi(async (bench) => {
      const open = () => fetch(`${bench.api.url}/v1/events`, { headers: { authorization: `Bearer ${PERSON_TOKEN}` } });
      const answers = await Promise.all(Array.from({ length: 32 }, open));
      const tooMany = await open();
      assert.equal(tooMany.status, 503);
      assert.equal(((await tooMany.json()) as { code: string }).code, 'SW-API-016');

      const texts = answers.map(() => '');
      const reading = answers.map(async (answer, index) => {
        const decoder = new TextDecoder();
        if (answer.body) for await (const chunk of answer.body) texts[index] += decoder.decode(chunk, { stream: true });
      });
      bench.system.advance(15_000);
      bench.system.advance(15_000);
      await eventually('two heartbeats reach every listener', () =>
        texts.every((text) => text.includes(': alive 30000')),
      );
      assert.ok(texts.every((text) => text.includes(': alive 15000')));
      await bench.api.close();
      await Promise.all(reading);
      assert.equal(bench.face.listeners(), 0);
    });
  });
});
