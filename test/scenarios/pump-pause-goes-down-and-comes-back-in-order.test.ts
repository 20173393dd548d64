// On a real hub: the button in the hub shows a plan and switches nothing; the second confirmation lets everything off one
// after the other, each proved before the next; after the pause everything comes back in its order, under its driver.
import assert from 'node:assert/strict';
import { after, before, describe, test } from 'node:test';
import type { SessionView } from '../../src/app/index.ts';
import { eventually, getStates, waitForState } from '../support/index.ts';
import { type RealHome, readForTwoSeconds, SESSION, startRealHome } from './real-home.ts';
import { PLUGS, RISE_CM, THERMOSTAT } from './real-tank.ts';

const FLAG = 'binary_sensor.slackwater_service_in_progress';

const SWITCHES = PLUGS.map((id) => `switch.${id}`);
const OFF_ORDER = ['switch.top_off', 'switch.skimmer', 'switch.heater', 'switch.return_a', 'switch.return_b'];
const ON_ORDER = ['switch.return_b', 'switch.return_a', 'switch.heater', 'switch.skimmer', 'switch.top_off'];
const START = 'start_pump_pause';

describe('a short pump pause on a real hub', () => {
  let home: RealHome;
  let beganAt = 0;
  const closedAt = new Map<string, number>();

  before(async () => {
    home = await startRealHome();
    home.service().app.subscribe((event) => {
      if (event.kind !== 'session') return;
      for (const { id, result } of event.view.steps) {
        if (result.startsWith('passed') && !closedAt.has(id)) closedAt.set(id, event.at);
      }
    });
  });
  after(() => home?.dispose());

  const view = (): SessionView => {
    const session = home.service().app.session();
    assert.ok(session);
    return session;
  };

  test('a press in the hub shows the plan, and nothing is switched', async () => {
    beganAt = Date.now();
    await home.pressAs('robin', START);
    const shown = await home.asked('#begin');
    assert.equal(shown.state, 'idle');
    assert.equal(shown.attributes['started_by'], 'Robin');
    assert.match(String(shown.attributes['prompt']), /Top-off, Skimmer, Heater, Return pump A, Return pump B/);
    const steps = shown.attributes['steps'] as readonly { readonly result: string }[];
    assert.ok(steps.length > 15);
    assert.ok(steps.every(({ result }) => result === 'to come'));
  });

  test('a confirmation within two seconds of the plan’s appearing is answered in words and not taken', async () => {
    // A new plan, so that the press falls right behind its appearing.
    await home.pressAs('robin', 'abort');
    await home.sessionIs('aborted');
    const owner = await home.owner();
    const appeared = Promise.withResolvers<void>();
    const end = await owner.subscribe({ type: 'subscribe_entities', entity_ids: [SESSION] }, (event) => {
      if (JSON.stringify(event).includes('"idle"')) appeared.resolve();
    });
    await home.pressAs('robin', START);
    await appeared.promise;
    await home.pressAs('robin', 'confirm');
    await end();
    const { message } = await home.notice(/press again/);
    assert.match(message, /^The button was pressed \d\.\d s after the step appeared: read it, then press again\.$/);
    assert.equal((await home.session()).state, 'idle');
  });

  test('a press by nobody the configuration names does not begin it either', async () => {
    await home.asked('#begin');
    await readForTwoSeconds();
    await home.pressAs('nobody', 'confirm');
    const { message } = await home.notice(/no person/);
    assert.match(message, /The confirmation carries no person, and beginning the session needs one\./);
    assert.equal((await home.session()).state, 'idle');
  });

  test('a second start while the plan is open is answered in words', async () => {
    await home.pressAs('sam', 'start_skimmer_service');
    await home.notice(/A session is already open on this tank: Short pump pause, started by Robin\./);
    assert.equal((await home.session()).attributes['procedure'], 'pump-pause');
  });

  test('until the second confirmation no plug has changed', async () => {
    assert.deepEqual(await home.changesSince(SWITCHES, beganAt), []);
  });

  test('confirmed, all go off one after the other, each proved before the next', async () => {
    await home.confirmAs('robin', '#begin');
    await eventually('the last answer to be taken back', async () =>
      (await home.notices()).every(({ notification_id: id }) => id !== 'slackwater_answer'),
    );
    await home.asked('hands-on:pause');
    const off = await home.changesSince(SWITCHES, beganAt);
    assert.deepEqual(
      off.map(({ entity, state }) => [entity, state]),
      OFF_ORDER.map((entity) => [entity, 'off']),
    );
    const planned = view().steps.filter(({ action }) => action === 'switch-off');
    assert.deepEqual(
      planned.map(({ equipment }) => `switch.${equipment?.replaceAll('-', '_')}`),
      OFF_ORDER,
    );
    // The top-off idles, so its zero watts prove nothing; it is said to be so.
    assert.deepEqual(
      planned.map(({ evidence, result }) => [evidence, result]),
      [
        [2, 'passed-unproven'],
        [3, 'passed'],
        [3, 'passed'],
        [3, 'passed'],
        [4, 'passed'],
      ],
    );
    assert.match(planned[0]?.evidenceText ?? '', /reported off, not proven/);
    assert.match(planned[4]?.evidenceText ?? '', new RegExp(`sump rose ${RISE_CM.toFixed(1)} cm`));
    const proved = provedAt('switch-off');
    for (const [index, { atMs }] of off.entries()) {
      if (index > 0) assert.ok((proved[index - 1] ?? 0) <= atMs, `${OFF_ORDER[index]} waited for the proof before it`);
    }
    await waitForState(await home.owner(), FLAG, 'on');
  });

  test('the heater’s thermostat was suspended before the heater went off, and stays so', async () => {
    const [suspended, ...more] = await home.changesSince([THERMOSTAT], beganAt);
    assert.equal(suspended?.state, 'off');
    assert.deepEqual(more, []);
    const heater = (await home.changesSince(['switch.heater'], beganAt))[0];
    assert.ok((suspended?.atMs ?? Number.POSITIVE_INFINITY) < (heater?.atMs ?? 0));
  });

  test('after the pause all come back in order, each proved, under their drivers', async () => {
    const fromMs = Date.now();
    await home.confirmAs('robin', 'hands-on:pause');
    await home.sessionIs('complete');
    const on = await home.changesSince(SWITCHES, fromMs);
    assert.deepEqual(
      on.map(({ entity, state }) => [entity, state]),
      ON_ORDER.map((entity) => [entity, 'on']),
    );
    const back = view().steps.filter(({ action }) => action === 'switch-on');
    // Heater and top-off draw watts only now and then, so their watts prove nothing; that is said.
    assert.deepEqual(
      back.map(({ equipment, evidence, result }) => [equipment, evidence, result]),
      [
        ['return-b', 4, 'passed'],
        ['return-a', 3, 'passed'],
        ['heater', 2, 'passed-unproven'],
        ['skimmer', 3, 'passed'],
        ['top-off', 2, 'passed-unproven'],
      ],
    );
    const proved = provedAt('switch-on');
    for (const [index, { atMs }] of on.entries()) {
      if (index > 0) assert.ok((proved[index - 1] ?? 0) <= atMs, `${ON_ORDER[index]} waited for the proof before it`);
    }
    const driver = await home.changesSince([THERMOSTAT], fromMs);
    assert.deepEqual(
      driver.map(({ state }) => state),
      ['on'],
    );
    const heater = on.find(({ entity }) => entity === 'switch.heater');
    assert.ok((driver[0]?.atMs ?? 0) > (heater?.atMs ?? 0));
    assert.deepEqual(view().outOfService, []);
    assert.match(view().summary, /^Back and proved: Return pump B, Return pump A, Skimmer; reported on, not proven: /);
    await waitForState(await home.owner(), FLAG, 'off');
    const states = await getStates(await home.owner());
    for (const entity of SWITCHES) {
      assert.equal(states.get(entity)?.state, entity === 'switch.lamp_bank' ? 'off' : 'on', entity);
    }
  });

  /** When each step of this kind was seen to be closed, in the order of the plan. */
  const provedAt = (action: string): readonly number[] =>
    view()
      .steps.filter((step) => step.action === action)
      .map((step) => closedAt.get(step.id) ?? Number.POSITIVE_INFINITY);
});
