import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { LATE_REPORT_MS, REVIVE_AFTER_MS } from '../../../src/sim/index.ts';
import { home, stateOf, until } from './support.ts';

const watts = (one: Awaited<ReturnType<typeof home>>, plug: string): number =>
  Number(stateOf(one.hub, `sensor.${plug}_power`).state);

describe('plugs of the simulated home', () => {
  test('a sound plug opens its relay, then reports it, then its watts', async () => {
    const one = await home();
    assert.ok(watts(one, 'skimmer') > 20);
    one.hub.call('switch.turn_off', 'switch.skimmer');
    assert.equal(stateOf(one.hub, 'switch.skimmer').state, 'on', 'nothing is reported before the relay moved');
    await until(one, 'off is reported', () => stateOf(one.hub, 'switch.skimmer').state === 'off', 2_000);
    assert.equal(one.hub.plug('skimmer').relayClosed, false);
    await until(one, 'the watts are gone', () => watts(one, 'skimmer') <= 0.6, 10_000);
  });

  test('a plug that echoes "off" keeps its relay closed and its watts', async () => {
    const one = await home({ faults: { skimmer: 'echo-off-keeps-watts' } });
    one.hub.call('switch.turn_off', 'switch.skimmer');
    await until(one, 'off is reported', () => stateOf(one.hub, 'switch.skimmer').state === 'off', 2_000);
    await one.system.play(60_000);
    one.hub.call('homeassistant.update_entity', 'switch.skimmer');
    assert.equal(stateOf(one.hub, 'switch.skimmer').state, 'off', 'it goes on saying so when asked');
    assert.ok(watts(one, 'skimmer') > 20);
    assert.equal(one.hub.plug('skimmer').relayClosed, true);
    assert.ok(one.hub.tank().devices.skimmer.meanPowerW > 20);
  });

  test('a late plug switches at once and says so long after', async () => {
    const one = await home({ faults: { skimmer: 'late' } });
    one.hub.call('switch.turn_off', 'switch.skimmer');
    await one.system.play(LATE_REPORT_MS - 5_000);
    assert.equal(one.hub.plug('skimmer').relayClosed, false);
    assert.equal(stateOf(one.hub, 'switch.skimmer').state, 'on');
    await one.system.play(8_000);
    assert.equal(stateOf(one.hub, 'switch.skimmer').state, 'off');
  });

  test('a plug whose reports are lost grows stale, also when asked', async () => {
    const one = await home({ faults: { skimmer: 'lost-reports' } });
    const before = stateOf(one.hub, 'sensor.skimmer_power').lastReported;
    one.hub.call('switch.turn_off', 'switch.skimmer');
    await one.system.play(180_000);
    one.hub.call('homeassistant.update_entity', 'sensor.skimmer_power');
    assert.equal(one.hub.plug('skimmer').relayClosed, false);
    assert.equal(stateOf(one.hub, 'switch.skimmer').state, 'on');
    assert.equal(stateOf(one.hub, 'sensor.skimmer_power').lastReported, before);
  });

  test('a plug that revives comes back on by itself, with nobody behind it', async () => {
    const one = await home({ faults: { skimmer: 'revives' } });
    one.hub.call('switch.turn_off', 'switch.skimmer', one.hub.userId);
    await until(one, 'off is reported', () => stateOf(one.hub, 'switch.skimmer').state === 'off', 2_000);
    await one.system.play(REVIVE_AFTER_MS + 5_000);
    const revived = stateOf(one.hub, 'switch.skimmer');
    assert.equal(revived.state, 'on');
    assert.equal(revived.context.userId, null);
    assert.ok(watts(one, 'skimmer') > 20);
  });

  test('a pulled cord takes the watts and leaves the plug on', async () => {
    const one = await home();
    one.hub.unplug('skimmer');
    await until(one, 'the watts are gone', () => watts(one, 'skimmer') <= 0.6, 10_000);
    assert.equal(stateOf(one.hub, 'switch.skimmer').state, 'on');
    one.hub.plugIn('skimmer');
    await until(one, 'the watts are back', () => watts(one, 'skimmer') > 20, 10_000);
  });

  test('a forced report moves the report time of an unchanged reading', async () => {
    const one = await home();
    one.hub.call('switch.turn_off', 'switch.mixing_pump');
    await one.system.play(5_000);
    const before = stateOf(one.hub, 'sensor.mixing_pump_power');
    await one.system.play(5_000);
    one.hub.call('homeassistant.update_entity', 'sensor.mixing_pump_power');
    const after = stateOf(one.hub, 'sensor.mixing_pump_power');
    assert.equal(after.state, before.state);
    assert.equal(after.lastUpdated, before.lastUpdated);
    assert.ok(after.lastReported >= before.lastReported + 5_000);
  });

  test('suspending a schedule keeps its plug as it is; resuming does not catch up', async () => {
    const one = await home();
    assert.equal(stateOf(one.hub, 'switch.lamp_bank_2').state, 'off', 'before eleven');
    one.hub.call('automation.turn_off', 'automation.lamp_bank_2');
    await one.system.play(3_700_000, 5_000);
    assert.equal(stateOf(one.hub, 'switch.lamp_bank_2').state, 'off', 'eleven passed while suspended');
    one.hub.call('automation.turn_on', 'automation.lamp_bank_2');
    await one.system.play(10_000);
    assert.equal(stateOf(one.hub, 'automation.lamp_bank_2').state, 'on');
    assert.equal(stateOf(one.hub, 'switch.lamp_bank_2').state, 'off');
  });

  test('a suspended thermostat lets go of its heaters', async () => {
    const one = await home();
    await until(one, 'heater 2 heats', () => stateOf(one.hub, 'switch.heater_2').state === 'on', 3_600_000);
    one.hub.call('climate.turn_off', 'climate.display');
    await one.system.play(5_000);
    assert.equal(stateOf(one.hub, 'climate.display').state, 'off');
    assert.equal(stateOf(one.hub, 'switch.heater_2').state, 'off');
    const before = one.hub.tank().displayC;
    await one.system.play(3_600_000, 5_000);
    assert.equal(stateOf(one.hub, 'switch.heater_2').state, 'off');
    assert.ok(one.hub.tank().displayC < before - 0.02, 'it cools meanwhile');
  });
});
