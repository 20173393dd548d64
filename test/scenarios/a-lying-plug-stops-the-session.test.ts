// On a real hub: a plug that says "off" and keeps its watts stops the session with words and an alarm; nothing further is
// switched, whoever presses what, until a person has put it right.
import assert from 'node:assert/strict';
import { after, before, describe, test } from 'node:test';
import { type HubState, pressPlugItself, setFault, setPlugWatts, waitForState } from '../support/index.ts';
import { type RealHome, readForTwoSeconds, startRealHome } from './real-home.ts';
import { PLUGS, WATTS } from './real-tank.ts';

const SWITCHES = PLUGS.map((id) => `switch.${id}`);

describe('a skimmer plug that only echoes the command', () => {
  let home: RealHome;
  let beganAt = 0;
  let held: HubState;

  before(async () => {
    home = await startRealHome();
    await setFault(await home.owner(), 'skimmer', 'echo-off-keeps-watts');
    beganAt = Date.now();
    await home.pressAs('robin', 'start_pump_pause');
    await home.confirmAs('robin', '#begin');
    held = await home.asked('#resume');
  });
  after(() => home?.dispose());

  /** What the hub's recorder has of the plugs since the start of the session, in order. */
  const switched = async (): Promise<readonly string[]> =>
    (await home.changesSince(SWITCHES, beganAt)).map(({ entity, state }) => `${entity} ${state}`);

  test('the session is held, and says which plug and how many watts', async () => {
    assert.equal(held.state, 'held');
    assert.equal(held.attributes['hold_reason'], 'contradiction');
    assert.match(
      String(held.attributes['hold']),
      /^Skimmer says off but still draws 21 W: its relay may be welded, or the plug only echoes the command\. Unplug it now\./,
    );
    const steps = held.attributes['steps'] as readonly { readonly text: string; readonly result: string }[];
    assert.equal(steps.find(({ text }) => text === 'Switch Skimmer off.')?.result, 'open now');
  });

  test('the hub shows an alarm with the same words', async () => {
    const { notification_id: id, message } = await home.notice(/Slackwater alarm/);
    assert.equal(id, 'slackwater_alarm_contradiction');
    assert.match(message, /^Skimmer says off but still draws 21 W/);
  });

  test('only the top-off went off before it, and nothing after it', async () => {
    assert.deepEqual(await switched(), ['switch.top_off off', 'switch.skimmer off']);
    const states = await Promise.all(
      ['switch.heater', 'switch.return_a', 'switch.return_b'].map(async (entity) =>
        waitForState(await home.owner(), entity, () => true),
      ),
    );
    assert.deepEqual(
      states.map(({ state }) => state),
      ['on', 'on', 'on'],
    );
  });

  test('resumed without being put right it is held again, and nothing is switched', async () => {
    await home.confirmAs('robin', '#resume');
    const again = await home.asked('#resume');
    assert.match(String(again.attributes['hold']), /^Skimmer (says off but still|reads off but) /);
    assert.deepEqual(await switched(), ['switch.top_off off', 'switch.skimmer off']);
  });

  test('a press without a person behind it does not resume it', async () => {
    await setPlugWatts(await home.owner(), 'skimmer', 0);
    await home.asked('#resume');
    await readForTwoSeconds();
    await home.pressAs('nobody', 'confirm');
    await home.notice(/resuming needs one/);
    assert.equal((await home.session()).state, 'held');
  });

  test('unplugged by a person and resumed, it goes on', async () => {
    await home.confirmAs('robin', '#resume');
    await home.asked('hands-on:pause');
    assert.equal((await switched()).at(-1), 'switch.return_b off');
    const skimmer = home
      .service()
      .app.session()
      ?.steps.find(({ id }) => id === 'off:skimmer');
    assert.deepEqual([skimmer?.result, skimmer?.evidence], ['passed', 3]);
  });

  test('plugged in again on the same welded plug it is noticed by its watts at once', async () => {
    await setPlugWatts(await home.owner(), 'skimmer', WATTS.skimmer);
    const again = await home.asked('#resume');
    assert.match(String(again.attributes['hold']), /^Skimmer reads off but draws 21 W: its relay may be welded/);
    await home.notice(/Skimmer reads off but draws 21 W/);
  });

  test('on a sound plug it comes back with all the rest, in order', async () => {
    const owner = await home.owner();
    await setFault(owner, 'skimmer', 'none');
    await pressPlugItself(owner, 'skimmer', false);
    await home.confirmAs('robin', '#resume');
    await home.confirmAs('robin', 'hands-on:pause');
    await home.sessionIs('complete');
    assert.deepEqual((await switched()).slice(-5), [
      'switch.return_b on',
      'switch.return_a on',
      'switch.heater on',
      'switch.skimmer on',
      'switch.top_off on',
    ]);
  });
});
