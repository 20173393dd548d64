import assert from 'node:assert/strict';
import { describe, type TestContext, test } from 'node:test';
import { type GuardedHome, guardedHome, T0, YAML } from './guarded-home.ts';

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const robin = { kind: 'person', name: 'Robin', via: 'api' } as const;

const LIT = YAML.replace(
  'sensors:\n',
  '  lamp: { role: fluorescent-bank, driver: { schedule: automation.lamp }, switch: switch.lamp, power: sensor.lamp_power, normalPower: 120 W, lit: 12:00-21:00 }\nsensors:\n',
);
const UNTOLD = LIT.replace(', lit: 12:00-21:00', '');
const HELD = LIT.replace('off: [top-off]', 'off: [top-off, lamp]');

const RUNNING = {
  ...{ 'switch.return': 1, 'sensor.return_power': 32, 'switch.circulation': 1, 'sensor.circulation_power': 14 },
  ...{ 'switch.skimmer': 1, 'sensor.skimmer_power': 18, 'switch.top_off': 1, 'sensor.top_off_power': 0 },
  ...{ 'binary_sensor.leak': 0, 'switch.lamp': 0, 'sensor.lamp_power': 0, 'automation.lamp': 1 },
};

async function home(t: TestContext, yaml: string = LIT): Promise<GuardedHome> {
  const made = await guardedHome({ yaml });
  t.after(() => made.stop().catch(() => {}));
  await made.tell(RUNNING);
  return made;
}

/** Minute by minute, with the plug reporting as plugs do. */
async function until(h: GuardedHome, hour: number): Promise<void> {
  while (h.system.clock.now() < T0 - 8 * HOUR + hour * HOUR) {
    await h.wait(MINUTE);
    await h.tell({});
    await h.report(['switch.lamp', 'automation.lamp']);
  }
}

const toLamp = (h: GuardedHome): string[] =>
  h.commands.flatMap(({ equipment, turn }) => (equipment === 'lamp' ? [turn] : []));
const line = (h: GuardedHome) => h.app.attention().find(({ kind }) => kind === 'acclimation');

describe('the light of new lamps', () => {
  test('is taken over, run for a day by its share, shown on every surface, and given back', async (t) => {
    const h = await home(t);
    const view = await h.app.startAcclimation('lamp', robin);
    assert.equal(view.hours, '12:00-21:00');
    assert.equal(view.hoursFrom, 'configuration');
    assert.deepEqual(h.drivers, ['suspend automation.lamp']);
    await until(h, 12.1);
    assert.deepEqual(toLamp(h), ['on']);
    assert.equal(h.commands.at(-1)?.programme, true);
    await until(h, 17.5);
    assert.deepEqual(toLamp(h), ['on', 'off']);
    assert.match(
      line(h)?.text ?? '',
      /^Lamp, day 1 of 19 of new lamps: 60 % of its light, 12:00 to 17:24 of 12:00-21:00$/,
    );
    assert.equal(line(h)?.toDo, '');
    assert.equal(h.app.acclimation()[0]?.programme?.status, 'running');
    await until(h, 20);
    assert.ok(!h.app.attention().some(({ kind }) => kind === 'left-off'), 'its resting driver is not forgotten');
    await h.app.stopAcclimation('lamp', robin);
    await until(h, 20.1);
    assert.deepEqual(h.drivers, ['suspend automation.lamp', 'resume automation.lamp']);
    assert.equal(h.app.acclimation()[0]?.programme?.status, 'over');
    assert.equal(line(h), undefined);
  });

  test('goes on after a kill -9 in the middle of the day, without telling anything twice', async (t) => {
    const h = await home(t);
    await h.app.startAcclimation('lamp', robin);
    await until(h, 14);
    const again = await h.killed();
    t.after(() => again.stop().catch(() => {}));
    assert.match(line(again)?.text ?? '', /day 1 of 19/);
    await until(again, 18);
    assert.deepEqual(toLamp(again), ['on', 'off']);
    assert.deepEqual(again.drivers, ['suspend automation.lamp']);
  });

  test('is asked for where its hours are not known, and refused to machines and for what is no lamp', async (t) => {
    const h = await home(t, UNTOLD);
    await assert.rejects(h.app.startAcclimation('lamp', robin), { code: 'SW-ACC-003' });
    await assert.rejects(h.app.startAcclimation('lamp', robin, '9 to 5'), { code: 'SW-ACC-006' });
    await assert.rejects(h.app.startAcclimation('lamp', robin, '09:00-08:00'), { code: 'SW-ACC-006' });
    await assert.rejects(h.app.startAcclimation('lmp', robin), { code: 'SW-ACC-001' });
    await assert.rejects(h.app.startAcclimation('skimmer', robin), { code: 'SW-ACC-002' });
    await assert.rejects(h.app.startAcclimation('lamp', { kind: 'machine', name: 'flow' }), { code: 'SW-SES-007' });
    await assert.rejects(h.app.stopAcclimation('lamp', robin), { code: 'SW-ACC-005' });
    assert.deepEqual(h.drivers, []);
    const view = await h.app.startAcclimation('lamp', robin, '12:00-21:00');
    assert.equal(view.hoursFrom, null);
    assert.match(view.text, /of 12:00-21:00/);
    await assert.rejects(h.app.startAcclimation('lamp', robin), { code: 'SW-ACC-004' });
  });

  test('a guard that holds the lamp off comes first', async (t) => {
    const h = await home(t, HELD);
    await h.app.startAcclimation('lamp', robin);
    await until(h, 11);
    await h.tell({ 'binary_sensor.leak': 1 });
    await until(h, 13);
    assert.ok(!toLamp(h).includes('on'));
    assert.match(line(h)?.text ?? '', /nothing is switched: a guard holds it off/);
    await h.tell({ 'binary_sensor.leak': 0 });
    await h.app.resetGuard('floor', robin);
    await until(h, 13.2);
    assert.equal(toLamp(h).at(-1), 'on');
  });

  test('another hand is respected and told in the hub', async (t) => {
    const h = await home(t);
    await h.app.startAcclimation('lamp', robin);
    await until(h, 13);
    await h.tell({ 'switch.lamp': 0 });
    await until(h, 16);
    assert.deepEqual(toLamp(h), ['on']);
    assert.match(h.shown.get('slackwater_alarm_acclimation_lamp') ?? '', /switched off by another hand/);
  });
});

describe('after a session that gave a lamp new tubes', () => {
  async function changed(h: GuardedHome): Promise<void> {
    await h.app.startSession('lamp-set-change', robin);
    for (let n = 0; n < 900 && h.app.session()?.status !== 'complete'; n++) {
      await h.wait(5_000);
      const isOn = h.states.get('switch.lamp') === 1;
      await h.tell({
        ...RUNNING,
        'switch.lamp': isOn ? 1 : 0,
        'sensor.lamp_power': isOn ? 120 : 0,
        'automation.lamp': h.states.get('automation.lamp') ?? 1,
      });
      const view = h.app.session();
      if (view?.prompt === null || view?.prompt === undefined) continue;
      await h.app.confirm({ session: view.id, step: view.prompt.step, nonce: view.prompt.nonce, actor: robin });
    }
    assert.equal(h.app.session()?.status, 'complete', h.app.session()?.hold?.text ?? 'not through');
  }

  test('the keeper is asked once; yes begins it', async (t) => {
    const h = await home(t);
    await changed(h);
    const [asked] = h.app.questions(false);
    assert.equal(asked?.id, 'acclimation-lamp');
    assert.match(
      asked?.text ?? '',
      /Run the light of Lamp for its new lamps: 60 % of its light on the first day, all of it on day 19/,
    );
    await h.app.answer('acclimation-lamp', robin, 'yes');
    await h.wait(MINUTE);
    assert.equal(h.app.acclimation()[0]?.programme?.startedBy, 'Robin');
    assert.deepEqual(h.app.questions(false), []);
    const again = await h.killed();
    t.after(() => again.stop().catch(() => {}));
    assert.deepEqual(again.app.questions(false), []);
  });

  test('with its hours unknown the question says how to tell them, and yes alone is refused and stays open', async (t) => {
    const h = await home(t, UNTOLD);
    await changed(h);
    assert.match(h.app.questions(false)[0]?.text ?? '', /usual hours are not known .* --hours/);
    await assert.rejects(h.app.answer('acclimation-lamp', robin, 'yes'), { code: 'SW-ACC-003' });
    assert.equal(h.app.questions(false).length, 1);
    await h.app.startAcclimation('lamp', robin, '12:00-21:00');
    assert.deepEqual(h.app.questions(false), []);
  });

  test('no leaves it to its driver', async (t) => {
    const h = await home(t);
    await changed(h);
    await h.app.answer('acclimation-lamp', robin, 'no');
    await h.wait(MINUTE);
    assert.equal(h.app.acclimation()[0]?.programme, null);
    assert.deepEqual(h.drivers, ['suspend automation.lamp', 'resume automation.lamp']);
  });
});
