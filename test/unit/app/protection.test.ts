import assert from 'node:assert/strict';
import { describe, type TestContext, test } from 'node:test';
import { type GuardedHome, guardedHome, YAML } from './guarded-home.ts';

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const robin = { kind: 'person', name: 'Robin', via: 'api' } as const;

const RUNNING = {
  ...{ 'switch.return': 1, 'sensor.return_power': 32, 'switch.circulation': 1, 'sensor.circulation_power': 14 },
  ...{ 'switch.skimmer': 1, 'sensor.skimmer_power': 18, 'switch.top_off': 1, 'sensor.top_off_power': 0 },
  'binary_sensor.leak': 0,
};

async function home(t: TestContext, yaml: string = YAML): Promise<GuardedHome> {
  const made = await guardedHome({ yaml });
  t.after(() => made.stop().catch(() => {}));
  await made.tell(RUNNING);
  return made;
}

describe('a leak', () => {
  test('switches the top-off off through the one gate and is told by the hub, beside it, and on every surface', async (t) => {
    const h = await home(t);
    await h.tell({ 'binary_sensor.leak': 1 });
    assert.deepEqual(
      h.commands.map(({ equipment, turn, guard }) => [equipment, turn, guard]),
      [['top-off', 'off', 'floor']],
    );
    const text = 'Water on the floor: Leak under the cabinet is wet. Off until a person resets it: Top off.';
    assert.equal(h.shown.get('slackwater_alarm_guard_floor'), text);
    assert.deepEqual(
      h.told.map(({ kind, text: said, tank }) => [kind, said, tank]),
      [['alarm', text, 'Guarded reef']],
    );
    assert.equal(h.app.attention()[0]?.kind, 'guard');
    assert.equal(h.app.status().attention?.length, 1);
    assert.equal(h.app.guards()[0]?.latched?.reason, 'Leak under the cabinet is wet');
  });

  test('holds through a kill -9, and nothing is sent again blindly', async (t) => {
    const h = await home(t);
    await h.tell({ 'binary_sensor.leak': 1, 'switch.top_off': 1 });
    await h.tell({ 'switch.top_off': 0 });
    const sent = h.commands.length;
    const again = await h.killed();
    t.after(() => again.stop().catch(() => {}));
    await again.tell({ 'binary_sensor.leak': 0, 'switch.top_off': 0, 'sensor.top_off_power': 0 });
    await again.wait(5 * MINUTE);
    assert.equal(again.commands.length, sent);
    assert.ok(again.app.guards()[0]?.latched);
    await again.tell({ 'switch.top_off': 1 });
    assert.deepEqual(again.commands.at(-1)?.turn, 'off');
  });

  test('only a person resets it, once it is dry; then nothing is switched and the alarm goes everywhere', async (t) => {
    const h = await home(t);
    await h.tell({ 'binary_sensor.leak': 1 });
    await assert.rejects(h.app.resetGuard('floor', { kind: 'machine', name: 'node-red' }), { code: 'SW-GRD-002' });
    await assert.rejects(h.app.resetGuard('floor', robin), { code: 'SW-GRD-003' });
    await assert.rejects(h.app.resetGuard('flor', robin), { code: 'SW-GRD-001' });
    await h.tell({ 'binary_sensor.leak': 0 });
    const before = h.commands.length;
    assert.equal((await h.app.resetGuard('floor', robin)).latched, null);
    await h.wait(MINUTE);
    assert.equal(h.commands.length, before);
    assert.equal(h.shown.has('slackwater_alarm_guard_floor'), false);
    assert.equal(h.told.at(-1)?.kind, 'over');
    const again = await h.killed();
    t.after(() => again.stop().catch(() => {}));
    assert.equal(again.app.guards()[0]?.latched, null);
  });

  test('is shown in the hub as long as it holds', async (t) => {
    const h = await home(t);
    await h.tell({ 'binary_sensor.leak': 1 });
    await h.wait(MINUTE);
    assert.equal(h.published('binary_sensor.slackwater_attention')?.state, 'on');
    await h.tell({ 'binary_sensor.leak': 0 });
    await h.app.resetGuard('floor', robin);
    await h.wait(MINUTE);
    assert.equal(h.published('binary_sensor.slackwater_attention')?.state, 'off');
  });
});

describe('with the hub away', () => {
  test('alarms reach people beside it, and the hub when it is back', async (t) => {
    const h = await home(t);
    await h.link(false);
    await h.wait(4 * MINUTE);
    assert.equal(h.told.length, 0);
    await h.wait(2 * MINUTE);
    assert.match(
      h.told[0]?.text ?? '',
      /^The hub has not been reached for [56] min: nothing is seen, no guard can act/,
    );
    assert.equal(h.app.attention()[0]?.kind, 'hub-silent');
    await h.link(true);
    assert.equal(h.told.at(-1)?.kind, 'over');
    assert.deepEqual(h.app.attention(), []);
  });

  test('what was off goes on to its alarm', async (t) => {
    const h = await home(t);
    await h.tell({ 'switch.return': 0, 'sensor.return_power': 0 });
    await h.link(false);
    await h.wait(61 * MINUTE);
    const texts = h.told.map(({ text }) => text);
    assert.ok(texts.some((text) => text.startsWith('Return pump has been off for 1 h, without a session')));
    assert.equal(h.shown.size, 0);
    await h.link(true);
    assert.match(h.shown.get('slackwater_alarm_left_off_return-pump') ?? '', /Return pump has been off/);
  });

  test('from the very start the clocks do not wait for it', async (t) => {
    const h = await guardedHome({ isUp: false });
    t.after(() => h.stop().catch(() => {}));
    await h.wait(6 * MINUTE);
    assert.match(h.told[0]?.text ?? '', /^The hub has not been reached for [56] min/);
  });
});

describe('what is left off', () => {
  test('is asked about, the answer holds, and both go when it runs again', async (t) => {
    const h = await home(t);
    await h.tell({ 'switch.skimmer': 0, 'sensor.skimmer_power': 0 });
    await h.wait(6 * HOUR + MINUTE);
    const [question] = h.app.questions(false);
    assert.match(question?.text ?? '', /^Skimmer has been off for 6 h, without a session\. Is that meant\?/);
    assert.match(h.shown.get('slackwater_alarm_left-off-skimmer') ?? '', /slackwater answer left-off-skimmer yes/);
    assert.ok(h.app.attention().some(({ id }) => id === 'skimmer'));
    await h.app.answer('left-off-skimmer', robin, 'yes');
    await h.wait(HOUR);
    assert.ok(!h.told.some(({ text }) => text.startsWith('Skimmer')));
    await h.tell({ 'switch.skimmer': 1, 'sensor.skimmer_power': 18 });
    assert.ok(!h.app.attention().some(({ id }) => id === 'skimmer'));
  });

  test('its clock runs through a restart of the service', async (t) => {
    const h = await home(t);
    await h.tell({ 'switch.skimmer': 0, 'sensor.skimmer_power': 0 });
    await h.wait(HOUR);
    const again = await h.killed();
    t.after(() => again.stop().catch(() => {}));
    await again.tell({ 'switch.skimmer': 0 });
    await again.wait(5 * HOUR + MINUTE);
    assert.equal(again.app.questions(false).length, 1);
  });
});
