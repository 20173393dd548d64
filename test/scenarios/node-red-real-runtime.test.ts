import assert from 'node:assert/strict';
import { readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { after, before, describe, test } from 'node:test';
import type { Standing } from '../../src/remind/index.ts';
import { type RunningApi, startApi } from '../../src/web/index.ts';
import { eventually, markRan } from '../support/index.ts';
import { DUE, type FakeFace, fakeFace, fakeSystem } from '../unit/web/fake-face.ts';
import { ACCESS, MACHINE_TOKEN } from '../unit/web/talk.ts';
import { type FlowNode, type NodeRedRun, shippedFlow, startNodeRed } from './node-red-runtime.ts';

// The shipped flows and all nodes in the real Node-RED, against the real API with an invented service behind it.
const WRONG_TOKEN = 'wrong-token-that-nobody-ever-gave-out-01';
const FLOWS = { kind: 'machine', name: 'flows' };
const named = (word: Standing['word'], reason: string): Standing => ({ ...DUE, word, reason });

/** What the shipped flows do not use: wear, following, a service with a wrong credential, one that nobody runs. */
function extraTab(url: string): FlowNode[] {
  const tab = 'extra';
  const probe = (id: string): FlowNode => ({ id, type: 'junction', z: tab, wires: [] });
  const nodes: FlowNode[] = [
    { id: tab, type: 'tab', label: 'Extra' },
    { id: 'bad-service', type: 'slackwater-service', name: 'wrong', url },
    { id: 'no-service', type: 'slackwater-service', name: 'nobody', url: 'http://127.0.0.1:9' },
    { id: 'wear', type: 'slackwater-wear', z: tab, service: 'sw-service', atStart: false, wires: [['wear-out']] },
    probe('wear-out'),
    {
      id: 'wear-all',
      type: 'slackwater-wear',
      z: tab,
      service: 'sw-service',
      atStart: true,
      wires: [['wear-all-out']],
    },
    probe('wear-all-out'),
    {
      id: 'due-start',
      type: 'slackwater-due',
      z: tab,
      service: 'sw-service',
      atStart: true,
      wires: [['due-start-out']],
    },
    probe('due-start-out'),
    { id: 'follow', type: 'slackwater-session', z: tab, service: 'sw-service', follow: true, wires: [['follow-out']] },
    probe('follow-out'),
    { id: 'bad-due', type: 'slackwater-due', z: tab, service: 'bad-service', wires: [['bad-out']] },
    { id: 'nobody-due', type: 'slackwater-due', z: tab, service: 'no-service', wires: [['bad-out']] },
    { id: 'lost-due', type: 'slackwater-due', z: tab, service: '', wires: [['bad-out']] },
    probe('bad-out'),
    { id: 'catch', type: 'catch', z: tab, scope: null, wires: [['caught']] },
    probe('caught'),
  ];
  // A place on the canvas is what tells a node of a flow from a configuration node.
  return nodes.map((node) => (node['z'] === tab ? { ...node, x: 100, y: 100 } : node));
}

describe('in the real Node-RED', () => {
  let face: FakeFace;
  let api: RunningApi;
  let run: NodeRedRun;
  const open = (port: number): Promise<RunningApi> =>
    startApi({ face, host: '127.0.0.1', port, access: ACCESS, system: fakeSystem() });
  const texts = (node: string): unknown[] => run.received(node).map(({ payload }) => payload);
  const shown = (node: string): string =>
    run
      .statuses(node)
      .map(({ text }) => String(text))
      .join(' | ');

  before(async () => {
    face = fakeFace();
    api = await open(0);
    const session = (await shippedFlow('button-to-session.json')).filter(({ type }) => type !== 'slackwater-service');
    const flow = [...(await shippedFlow('due-to-message.json')), ...session, ...extraTab(api.url)];
    run = await startNodeRed(
      flow.map((node) => (node.id === 'sw-service' ? { ...node, url: api.url } : node)),
      {
        'sw-service': { token: MACHINE_TOKEN },
        'bad-service': { token: WRONG_TOKEN },
        'no-service': { token: MACHINE_TOKEN },
      },
    );
    assert.match(run.output(), /Node-RED version: v\d/);
    await eventually('the nodes are connected', () => shown('wear').endsWith('connected'));
    markRan('node-red');
  });

  after(async () => {
    await run?.stop();
    await api?.close();
    await run?.remove();
  });

  test('the flow due-to-message says what is due in the part’s own words', async () => {
    run.press('sw-due-each-morning');
    await eventually('the message', () => texts('sw-due-message').length === 1);
    assert.deepEqual(texts('sw-due-message'), [`overdue: ${DUE.reason}\n`]);
    assert.match(shown('sw-due-list'), /1 listed · \d\d:\d\d$/);
  });

  test('at start only those nodes speak that were told to', async () => {
    await eventually('both told to', () => texts('due-start-out').length > 0 && texts('wear-all-out').length > 0);
    assert.deepEqual(texts('due-start-out'), [[DUE]]);
    assert.deepEqual(run.received('wear-all-out'), [{ topic: 'uv-lamp', payload: DUE, before: null }]);
    assert.deepEqual(run.received('wear-out'), []);
    assert.deepEqual(face.calls, [], 'and nothing acted');
  });

  test('a change of standing arrives once, with what it was before', async () => {
    const fine = named('fine', 'UV lamp: 0 of 8,000 h lit');
    face.due = () => [fine];
    const event = { kind: 'standing', at: 1, standing: fine, before: 'overdue' } as const;
    face.emit(event);
    face.emit(event);
    const near = named('near', 'UV lamp: 7,300 of 8,000 h lit');
    face.due = () => [near];
    face.emit({ kind: 'standing', at: 2, standing: near, before: 'fine' });
    await eventually('the second change', () => run.received('wear-out').length >= 2);
    assert.deepEqual(run.received('wear-out'), [
      { topic: 'uv-lamp', payload: fine, before: 'overdue' },
      { topic: 'uv-lamp', payload: near, before: 'fine' },
    ]);
    assert.match(shown('wear'), /UV lamp: near · \d\d:\d\d$/);
  });

  test('the flow button-to-session starts a session in the name of the machine, and only shows the plan', async () => {
    run.press('sw-session-press');
    await eventually('the message', () => texts('sw-session-message').length === 1);
    assert.match(
      String(texts('sw-session-message')[0]),
      /^Skimmer service: the plan is ready\. .*nothing is switched yet/,
    );
    assert.deepEqual(face.calls, [{ what: 'start', args: ['skimmer-service', FLOWS] }]);
    run.press('sw-session-press');
    await eventually('the refusal', () => texts('sw-session-message').length === 2);
    assert.match(String(texts('sw-session-message')[1]), /^Not done: A session is already open on this tank/);
    assert.match(shown('sw-session-act'), /idle · \d\d:\d\d \| not done · \d\d:\d\d$/);
  });

  test('a machine’s confirmation goes through as a machine’s, and comes back refused', async () => {
    const answer = { session: 'session-1', step: 'unplug:skimmer', nonce: 'nonce-1' };
    run.press('sw-session-act', { topic: 'confirm', payload: answer });
    const [judged] = await eventually('the judgement', () => {
      const found = run.received('sw-session-status').filter(({ topic }) => topic === 'confirm');
      return found.length > 0 && found;
    });
    assert.equal(judged?.['accepted'], false);
    assert.match(String(judged?.['why']), /carries no person, and "unplugged" needs one/);
    assert.deepEqual(face.calls.at(-1), { what: 'confirm', args: [{ ...answer, actor: FLOWS }] });

    const before = face.calls.length;
    for (const payload of [undefined, 'yes', { session: 'session-1' }]) {
      run.press('sw-session-act', { topic: 'confirm', payload });
    }
    run.press('sw-session-act', { topic: 'unplugged' });
    await eventually(
      'four errors',
      () =>
        texts('sw-session-message').filter((text) => String(text).startsWith('Not done: Nothing done')).length === 4,
    );
    assert.equal(face.calls.length, before, 'a confirmation that names no prompt never leaves Node-RED');
  });

  test('abort and show do so; following nodes hear of the session and of alarms', async () => {
    run.press('sw-session-abort');
    await eventually('aborted', () => texts('sw-session-message').includes('Skimmer service: aborted '));
    assert.deepEqual(face.calls.at(-1), { what: 'abort', args: [FLOWS] });
    run.press('sw-session-show');
    await eventually('none open', () => texts('sw-session-message').includes('No session is open.'));
    assert.deepEqual(run.received('follow-out'), [], 'the invented service sent no event so far');
    face.emit({ kind: 'alarm', at: 7, code: 'foreign-hand', text: 'The skimmer came on.' });
    await eventually('the alarm', () => run.received('follow-out').length === 1);
    const alarm = { code: 'foreign-hand', text: 'The skimmer came on.', at: 7 };
    assert.deepEqual(run.received('follow-out'), [{ topic: 'alarm', payload: alarm }]);
    assert.match(shown('follow'), /alarm: foreign-hand/);
  });

  test('a wrong credential, a dead address and a missing service are shown and caught; nothing is sent on', async () => {
    await eventually('refused', () => shown('bad-due').includes('credential refused'));
    await eventually('no answer', () => shown('nobody-due').includes('no service since'));
    assert.match(shown('lost-due'), /no service chosen/);
    const caught = (): string[] => run.received('caught').map(({ error }) => (error as { message: string }).message);
    for (const node of ['bad-due', 'nobody-due', 'lost-due']) run.press(node, { payload: 'x' });
    await eventually('three errors', () => caught().length === 3);
    assert.deepEqual(
      caught()
        .map((text) => text.split(/[.?]/)[0])
        .sort(),
      [
        'No service is chosen: open the node and choose or add one',
        'The credential is not known',
        'The service at http://127',
      ],
    );
    assert.deepEqual(run.received('bad-out'), []);
    assert.ok(run.alive());
  });

  test('after the service was away, the change that fell into that time is told, once', async () => {
    const sofar = run.received('wear-out').length;
    const { port } = api;
    await api.close();
    await eventually('the loss shows', () => shown('wear').includes('no service since'));
    run.press('sw-due-each-morning');
    await eventually('said', () =>
      texts('sw-due-message').some((text) => /could not be read.*cannot be reached/.test(String(text))),
    );
    const due = named('due', 'UV lamp: 8,000 of 8,000 h lit');
    face.due = () => [due];
    api = await open(port);
    await eventually('the change', () => run.received('wear-out').length > sofar);
    assert.deepEqual(run.received('wear-out').slice(sofar), [{ topic: 'uv-lamp', payload: due, before: 'near' }]);
    assert.deepEqual(run.received('due-start-out').length, 1, 'a reconnect is no start');
    assert.equal(run.output().match(/is lost; trying again/g)?.length, 1);
  });

  test('nothing of the runtime can be reached over HTTP, and no code can be fetched', async () => {
    for (const path of [
      '/flows',
      '/',
      '/settings',
      '/nodes',
      '/auth/login',
      '/inject/sw-session-press',
      '/credentials/slackwater-service/sw-service',
    ]) {
      for (const method of ['GET', 'POST']) {
        const answer = await fetch(`http://127.0.0.1:${run.port}${path}`, { method });
        assert.equal(answer.status, 404, `${method} ${path}`);
        await answer.body?.cancel();
      }
    }
  });

  test('it ends cleanly, and no token was written, said or sent anywhere', async () => {
    assert.equal(await run.stop(), 0);
    const places = new Map([['output', run.output()]]);
    for (const entry of await readdir(run.folder, { recursive: true, withFileTypes: true })) {
      const file = join(entry.parentPath, entry.name);
      if (entry.isFile()) places.set(file, await readFile(file, 'utf8'));
    }
    assert.ok(places.size > 10, 'the files of the run were read');
    for (const node of [
      'wear-out',
      'sw-due-message',
      'sw-session-message',
      'caught',
      'sw-session-status',
      'follow-out',
    ]) {
      places.set(node, JSON.stringify(run.received(node)));
    }
    for (const node of ['wear', 'bad-due', 'nobody-due', 'sw-session-act']) {
      places.set(`status of ${node}`, JSON.stringify(run.statuses(node)));
    }
    for (const [place, text] of places) {
      for (const token of [MACHINE_TOKEN, WRONG_TOKEN]) assert.ok(!text.includes(token), `${place} holds a token`);
    }
    assert.doesNotMatch(run.output(), /uncaught|unhandled/i);
  });
});
