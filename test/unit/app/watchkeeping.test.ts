import assert from 'node:assert/strict';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, type TestContext, test } from 'node:test';
import { createAfterWatching } from '../../../src/app/after-watch.ts';
import { createOutside } from '../../../src/app/alarm-paths.ts';
import { heldHub } from '../../../src/app/guarding.ts';
import { openStore } from '../../../src/io/store/index.ts';
import { virtualSystem } from '../../../src/io/system/index.ts';
import type { AlarmMessage, HubPort } from '../../../src/ports/index.ts';
import { afterWatchContext } from '../../../src/procedure/guards/index.ts';
import type { SessionState, SwitchCommand } from '../../../src/procedure/index.ts';
import { T0, TANK } from '../procedure/guards/bench.ts';

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;

describe('what a guard holds off', () => {
  const sent: SwitchCommand[] = [];
  const hub: Pick<HubPort, 'command' | 'driver' | 'refresh'> = {
    command: async (command) => {
      sent.push(command);
      return { outcome: 'confirmed', detail: '' };
    },
    driver: async () => ({ outcome: 'confirmed', detail: '' }),
    refresh: async () => [],
  };
  const held = heldHub(hub, (id) => (id === 'top-off' ? 'the guard Leak holds it off' : null));
  const command = (equipment: string, turn: 'on' | 'off'): SwitchCommand => ({
    ...{ session: 's', step: 'x', equipment, entity: `switch.${equipment}`, turn },
  });

  test('is not switched on by a session, which hears why; off and everything else goes through', async () => {
    assert.deepEqual(await held.command(command('top-off', 'on')), {
      outcome: 'refused',
      detail: 'not sent: the guard Leak holds it off',
    });
    assert.equal((await held.command(command('top-off', 'off'))).outcome, 'confirmed');
    assert.equal((await held.command(command('return', 'on'))).outcome, 'confirmed');
    assert.deepEqual(
      sent.map(({ equipment, turn }) => [equipment, turn]),
      [
        ['top-off', 'off'],
        ['return', 'on'],
      ],
    );
  });
});

describe('the watch after a session, kept in the store', () => {
  const session = {
    id: 's1',
    status: 'complete',
    plan: { title: 'Skimmer service', outOfService: ['skimmer'] },
    records: [{ result: 'passed' }],
    claims: [],
    offNow: [],
    baseline: { 'sensor.skimmer_power': 26 },
    endedAt: T0,
  } as unknown as SessionState;

  function bench(t: TestContext) {
    const folder = mkdtempSync(join(tmpdir(), 'slackwater-watch-'));
    t.after(() => rmSync(folder, { recursive: true, force: true }));
    const system = virtualSystem(T0);
    const told: string[] = [];
    const open = () => {
      const store = openStore(join(folder, 'store.db'), system);
      const alarms = {
        raise: (_code: string, text: string) => void told.push(`alarm ${text}`),
        over: (code: string) => void told.push(`over ${code}`),
        notice: (_code: string, _title: string, text: string) => void told.push(text),
        hubCameBack: () => {},
        answer: () => {},
        answerOver: () => {},
      };
      const watch = createAfterWatching({ ctx: afterWatchContext(TANK), store, system, alarms, onChange: () => {} });
      return { store, watch };
    };
    const live = (watch: ReturnType<typeof open>['watch'], ms: number, watts: number): void => {
      for (let left = ms; left > 0; left -= 10 * MINUTE) {
        system.advance(10 * MINUTE);
        const at = system.clock.now();
        const reading = { entity: 'sensor.skimmer_power', value: watts, changedAt: at, reportedAt: at };
        watch.step({ kind: 'readings', at, readings: [reading] });
      }
    };
    return { open, live, told, system };
  }

  test('goes on after a restart, says once that all is back, and is in the record', (t) => {
    const { open, live, told } = bench(t);
    const first = open();
    first.watch.session(session, T0);
    live(first.watch, 24 * HOUR, 26);
    // Gone without a word.
    first.store.close();
    const second = open();
    second.watch.recover(session);
    assert.match(second.watch.attention()[0]?.text ?? '', /^After skimmer service: watched for 6 d/);
    live(second.watch, 6 * 24 * HOUR + HOUR, 26);
    assert.deepEqual(told, ['After skimmer service: all back. skimmer 26 W (was 26 W).']);
    const kinds = second.store.journal(['after-watch']).map(({ entry }) => 'change' in entry && entry.change);
    assert.deepEqual(kinds, ['began', 'ended']);
    second.store.close();
    const third = open();
    third.watch.recover(session);
    assert.deepEqual(third.watch.attention(), []);
    third.store.close();
  });

  test('begins also where the service died between the end of the session and the note of it', (t) => {
    const { open } = bench(t);
    const { watch, store } = open();
    watch.recover(session);
    assert.equal(watch.attention().length, 1);
    store.close();
  });

  test('a session that was never begun is not watched', (t) => {
    const { open } = bench(t);
    const { watch, store } = open();
    watch.session({ ...session, status: 'stopped', records: [{ result: 'pending' }] } as never, T0);
    assert.deepEqual(watch.attention(), []);
    store.close();
  });

  test('what is not back is asked about and listed until it is answered', (t) => {
    const { open, live, told } = bench(t);
    const { watch, store } = open();
    watch.session(session, T0);
    live(watch, 7 * 24 * HOUR + HOUR, 17);
    assert.equal(store.questions('open')[0]?.id, 'not-back-s1');
    assert.match(told.at(-1) ?? '', /Not as before: skimmer 17 W \(was 26 W\)/);
    assert.equal(watch.attention().length, 1);
    store.answerQuestion('not-back-s1', { at: T0, by: 'Robin', choice: 'yes' });
    assert.deepEqual(watch.attention(), []);
    store.close();
  });
});

describe('the ways beside the hub', () => {
  function ways() {
    const sent: AlarmMessage[] = [];
    const system = virtualSystem(T0);
    const path = (name: string, fails: boolean) => ({
      name,
      send: async (message: AlarmMessage) => {
        if (fails) throw new Error('broken');
        sent.push(message);
        return { sent: true, tries: 1, detail: 'ok' };
      },
      stop: () => {},
    });
    const outside = createOutside({
      paths: [path('broken', true), path('sound', false)],
      ...{ system, tank: 'Reef', simulated: false },
    });
    return { outside, sent, system };
  }

  test('one that fails keeps nobody from being told by the other', async () => {
    const { outside, sent, system } = ways();
    outside.tell('alarm', 'leak', 'Water.');
    await new Promise(setImmediate);
    assert.equal(sent.length, 1);
    assert.ok(system.log.lines.some((line) => line === 'error not told by broken: Error: broken'));
  });

  test('the same words again within ten minutes are not; others are, and so is the end', () => {
    const { outside, sent, system } = ways();
    for (const text of ['Water.', 'Water.', 'More water.']) outside.tell('alarm', 'leak', text);
    system.advance(11 * MINUTE);
    outside.tell('alarm', 'leak', 'More water.');
    outside.tell('over', 'leak', 'Over.');
    outside.tell('over', 'leak', 'Over.');
    assert.deepEqual(
      sent.map(({ kind, text }) => `${kind} ${text}`),
      ['alarm Water.', 'alarm More water.', 'alarm More water.', 'over Over.'],
    );
  });

  test('a storm ends in one word that there is more', () => {
    const { outside, sent } = ways();
    for (let n = 0; n < 200; n++) outside.tell('alarm', `a${n}`, `Alarm ${n}.`);
    assert.equal(sent.length, 41);
    assert.match(sent.at(-1)?.text ?? '', /^More alarms than can be told one by one/);
  });
});
