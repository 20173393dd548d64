import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { PERIODS } from '../../../src/app/index.ts';
import { SlackwaterError } from '../../../src/errors/index.ts';
import { apiClient } from '../../../src/web/index.ts';
import { LAMP, QUESTION, RECOUNT, USAGE } from './fake-face.ts';
import { MACHINE_TOKEN, PERSON_TOKEN, send, withApi } from './talk.ts';

const MARIT = { kind: 'person', name: 'Marit', via: 'api' };
const FLOWS = { kind: 'machine', name: 'flows' };

describe('what a keeper does to the record', () => {
  test('reaches the service in the name of the person, with nothing added and nothing lost', async () => {
    await withApi(async ({ api, face }) => {
      const client = apiClient(api.url, PERSON_TOKEN);
      const how = { at: 3, note: 'new batch', pieces: 2 };
      assert.equal((await client.fitted('uv-lamp', how)).life, 2);
      await client.fitted('uv-lamp', { with: 'wet-end-b', asNew: true });
      await client.fitted('uv-lamp', { places: [1, 3] });
      assert.deepEqual((await client.undo('uv-lamp')).usage, USAGE);
      const past = { fittedAt: 1, used: { 'on-hours': { low: 1, best: 2, high: 3 } }, note: 'from the log book' };
      assert.deepEqual(await client.seed('uv-lamp', past), USAGE);
      assert.deepEqual(await client.recount('uv-lamp', 20, true), { ...RECOUNT, taken: true });
      assert.equal((await client.changeSource('feed', 'move', 'sensor.new'))[0]?.entity, 'sensor.new');
      assert.equal((await client.answer(QUESTION.id, 'yes')).answer?.choice, 'yes');
      assert.deepEqual(face.calls, [
        { what: 'fitted', args: ['uv-lamp', MARIT, how] },
        { what: 'fitted', args: ['uv-lamp', MARIT, { with: 'wet-end-b', asNew: true }] },
        { what: 'fitted', args: ['uv-lamp', MARIT, { places: [1, 3] }] },
        { what: 'undo', args: ['uv-lamp', MARIT] },
        { what: 'seed', args: ['uv-lamp', MARIT, past] },
        { what: 'recount', args: ['uv-lamp', MARIT, 20, true] },
        { what: 'changeSource', args: ['feed', MARIT, { how: 'move', entity: 'sensor.new' }] },
        { what: 'answer', args: [QUESTION.id, MARIT, 'yes'] },
      ]);
    });
  });

  test('a machine may look at all of it and change none of it', async () => {
    await withApi(async ({ api, face }) => {
      const client = apiClient(api.url, MACHINE_TOKEN);
      const refused = (error: unknown) => error instanceof SlackwaterError && error.code === 'SW-API-003';
      await assert.rejects(client.undo('uv-lamp'), refused);
      await assert.rejects(client.seed('uv-lamp', { fittedAt: 1 }), refused);
      await assert.rejects(client.recount('uv-lamp', 20, true), refused);
      await assert.rejects(client.changeSource('feed', 'replace', 'sensor.new'), refused);
      await assert.rejects(client.answer(QUESTION.id, 'yes'), refused);
      await assert.rejects(client.resetGuard('leak'), refused);
      await assert.rejects(client.fitted('uv-lamp', { pieces: 1 }), refused);
      assert.deepEqual(face.calls, []);
      assert.deepEqual(await client.recount('uv-lamp', 20, false), RECOUNT);
      assert.deepEqual(face.calls, [{ what: 'recount', args: ['uv-lamp', FLOWS, 20, false] }]);
      assert.deepEqual(await client.questions(false), [QUESTION]);
      assert.equal((await client.questions(true)).length, 2);
      assert.equal((await client.resets())[0]?.before, 500);
      assert.equal((await client.guards())[0]?.latched?.reason, 'Leak under the cabinet is wet');
      assert.equal((await client.attention())[0]?.kind, 'guard');
      for (const period of PERIODS) assert.equal((await client.usageIn(period))[0]?.period, period);
    });
  });

  test('a person gives the light of a lamp to the service and takes it back; a machine looks', async () => {
    await withApi(async ({ api, face }) => {
      const client = apiClient(api.url, PERSON_TOKEN);
      assert.deepEqual(await client.startAcclimation('lamp', '09:30-18:30'), LAMP);
      await client.startAcclimation('lamp');
      await client.stopAcclimation('lamp');
      assert.deepEqual(face.calls, [
        { what: 'startAcclimation', args: ['lamp', MARIT, '09:30-18:30'] },
        { what: 'startAcclimation', args: ['lamp', MARIT, undefined] },
        { what: 'stopAcclimation', args: ['lamp', MARIT] },
      ]);
      const machine = apiClient(api.url, MACHINE_TOKEN);
      assert.deepEqual(await machine.acclimation(), [LAMP]);
      await assert.rejects(machine.startAcclimation('lamp'), { code: 'SW-API-003' });
      await assert.rejects(machine.stopAcclimation('lamp'), { code: 'SW-API-003' });
      assert.equal(face.calls.length, 3);
    });
  });

  test('a person resets a guard by its name', async () => {
    await withApi(async ({ api }) => {
      const client = apiClient(api.url, PERSON_TOKEN);
      assert.equal((await client.resetGuard('leak')).latched, null);
      await assert.rejects(client.resetGuard('other'), { code: 'SW-GRD-001' });
    });
  });

  test('what does not fit is refused before it reaches the service', async () => {
    await withApi(async ({ api, face }) => {
      const post = (path: string, body: unknown) =>
        send(api, { method: 'POST', path, token: PERSON_TOKEN, body: JSON.stringify(body) });
      for (const [path, body] of [
        ['/v1/parts/uv-lamp/seed', {}],
        ['/v1/parts/uv-lamp/seed', { fittedAt: 1, used: { 'lit-hours': { low: 1, best: 1, high: 1 } } }],
        ['/v1/parts/uv-lamp/recount', { thresholdW: 0 }],
        ['/v1/parts/uv-lamp/replaced', { pieces: 1.5 }],
        ['/v1/sources/feed/replace', { entity: 'not an entity' }],
        ['/v1/questions/x/answer', {}],
      ] as const)
        assert.equal((await post(path, body)).status, 400, path);
      assert.equal((await send(api, { path: '/v1/usage?period=year', token: PERSON_TOKEN })).status, 400);
      assert.deepEqual(face.calls, []);
    });
  });
});
