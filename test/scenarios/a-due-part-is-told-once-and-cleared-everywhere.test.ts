// On a real hub: a part that reaches its limit makes one notification in the hub and one on the phone, with the reason;
// "Done" on the phone records the replacement, begins a new life and clears both; nothing is told twice after restarts.
import assert from 'node:assert/strict';
import { after, before, describe, test } from 'node:test';
import { openStore } from '../../src/io/store/index.ts';
import { realSystem } from '../../src/io/system/index.ts';
import { callService, eventually, type Phone, waitForState } from '../support/index.ts';
import { type Notice, type RealHome, startRealHome } from './real-home.ts';

const LAMP = 'switch.lamp_bank';
const STANDING = 'sensor.slackwater_lamp_tubes_standing';
const DUE = /^Due: Lamp tubes$/;

describe('a part at its limit', () => {
  let home: RealHome;

  before(async () => {
    home = await startRealHome({ withPhone: true, tubesUsed: '12,959,998 s' });
  });
  after(() => home?.dispose());

  const phone = (): Phone => {
    assert.ok(home.phone);
    return home.phone;
  };
  const due = async (): Promise<readonly Notice[]> => (await home.notices()).filter(({ title }) => DUE.test(title));
  const told = (): Phone['pushes'] => phone().pushes.filter(({ title }) => DUE.test(title ?? ''));
  const actionOf = (word: string): string => {
    const actions = told()[0]?.data?.['actions'] as readonly { readonly action: string; readonly title: string }[];
    const found = actions.find(({ title }) => title === word);
    assert.ok(found);
    return found.action;
  };
  const tubes = () => {
    const found = home
      .service()
      .app.usage()
      .find(({ part }) => part === 'lamp-tubes');
    assert.ok(found);
    return found;
  };
  /** Two seconds are left of the 3,600 h. */
  const wear = async (): Promise<void> => {
    const owner = await home.owner();
    await callService(owner, 'switch.turn_on', LAMP);
    const since = performance.now();
    await eventually('two seconds of light', () => performance.now() - since > 2_200);
    await callService(owner, 'switch.turn_off', LAMP);
    await waitForState(owner, STANDING, 'due');
  };

  test('below it nothing is told', async () => {
    const owner = await home.owner();
    await waitForState(owner, STANDING, ({ state }) => state !== 'unknown');
    assert.deepEqual(await due(), []);
    assert.deepEqual(phone().pushes, []);
  });

  test('at it the hub shows one notification with the reason, and the phone gets one with three buttons', async () => {
    await wear();
    const notice = await home.notice(/Due: Lamp tubes/);
    assert.match(notice.message, /^Lamp tubes: 3,600 h of 3,600 h lit; .*due now by hours/);
    const push = await eventually('the push', () => told()[0]);
    assert.equal(push.message, notice.message);
    const actions = push.data?.['actions'] as readonly { readonly title: string; readonly uri?: string }[];
    assert.deepEqual(
      actions.map(({ title }) => title),
      ['Done', 'Later', 'Open'],
    );
    assert.equal(actions[2]?.uri, '/slackwater-tank');
    assert.equal((await due()).length, 1);
    assert.equal(told().length, 1);
  });

  test('neither more use nor a restart of the service tells it again', async () => {
    await callService(await home.owner(), 'switch.turn_on', LAMP);
    await callService(await home.owner(), 'switch.turn_off', LAMP);
    await home.service().app.settled();
    const before = await due();
    await home.stopService();
    await home.startService();
    await waitForState(await home.owner(), STANDING, 'due');
    await waitForState(await home.owner(), 'sensor.slackwater_service', 'running');
    assert.deepEqual(await due(), before);
    assert.equal(told().length, 1);
  });

  test('after a restart of the hub it is shown again with the same words, and not pushed again', async () => {
    const [before] = await due();
    await home.hub.restart();
    const again = await home.notice(/Due: Lamp tubes/);
    assert.equal(again.notification_id, before?.notification_id);
    assert.match(again.message, /^Lamp tubes: .*lit/);
    await home.service().app.settled();
    assert.equal((await due()).length, 1);
    assert.equal(told().length, 1);
  });

  test('a press of Done behind which no listed person stands records nothing, and says why', async () => {
    for (const button of ['done_lamp_tubes', 'later_lamp_tubes']) {
      await home.pressAs('nobody', button);
      await home.notice(
        button.startsWith('done') ? /recording a replacement needs one/ : /putting a part off needs one/,
      );
    }
    assert.equal(tubes().life, 1);
    assert.equal((await due()).length, 1);
  });

  test('a tap on Done by the phone’s owner records the replacement and clears it everywhere', async () => {
    const before = Date.now();
    await phone().tap(actionOf('Done'));
    await waitForState(await home.owner(), STANDING, ({ state }) => state !== 'due');
    const usage = tubes();
    assert.equal(usage.life, 2);
    assert.ok((usage.fittedAt ?? 0) >= before - 1000 && (usage.fittedAt ?? 0) <= Date.now());
    const hours = usage.measures.find(({ measure }) => measure === 'on-hours');
    assert.deepEqual([hours?.low, hours?.best, hours?.high], [0, 0, 0]);
    await eventually('the hub’s notification to go', async () => (await due()).length === 0);
    const tag = told()[0]?.data?.['tag'];
    assert.ok(tag);
    await eventually('the phone to be told to take it away', () =>
      phone().pushes.find(({ message, data }) => message === 'clear_notification' && data?.['tag'] === tag),
    );
    const shown = await waitForState(await home.owner(), 'sensor.slackwater_lamp_tubes_on_hours', ({ attributes }) => {
      return attributes['life'] === 2;
    });
    assert.equal(Number(shown.state), 0);
  });

  test('the same tap again finds nothing', async () => {
    await phone().tap(actionOf('Done'));
    await home.service().app.settled();
    await waitForState(await home.owner(), 'sensor.slackwater_due', ({ state }) => state !== 'unknown');
    assert.equal(tubes().life, 2);
  });

  test('who did it is on record, and a restart of the service keeps life and silence', async () => {
    await home.stopService();
    await home.startService();
    assert.equal(tubes().life, 2);
    await waitForState(await home.owner(), 'sensor.slackwater_service', 'running');
    assert.deepEqual(await due(), []);
    assert.equal(told().length, 1);
    assert.deepEqual(await fittings(home), [{ part: 'lamp-tubes', life: 2, by: 'Robin' }]);
  });
});

/** As the store keeps them. */
async function fittings(home: RealHome): Promise<readonly object[]> {
  await home.stopService();
  const store = openStore(`${home.folder}/slackwater.db`, realSystem({ quiet: true }));
  const rows = store.journal(['part-fitted']).flatMap(({ entry }) => (entry.kind === 'part-fitted' ? [entry] : []));
  store.close();
  await home.startService();
  return rows.map(({ part, life, by }) => ({ part, life, by }));
}
