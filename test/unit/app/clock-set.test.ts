// The clock of the hub's machine is set, ahead or back, by an hour or by a year, while a lamp burns and is switched.
import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { virtualSystem } from '../../../src/io/system/index.ts';
import type { Observation } from '../../../src/observe/index.ts';
import { DAY_MS, HOUR_MS, MINUTE_MS } from '../../../src/units/index.ts';
import { keeperHome, observed, T0 } from './keeper-home.ts';

const YAML = `tank: { name: Bench, zone: UTC, volume: 200 L }
hub: { url: http://hub, token: { env: T } }
equipment:
  lamp: { role: led-lamp, driver: always-on, switch: switch.lamp }
  ro: { role: ro-unit, driver: always-on, switch: switch.ro }
counters:
  lamp-on: { onState: { entity: switch.lamp } }
  feed: { total: { entity: sensor.feed, unit: L, maxPerHour: 60 L } }
parts:
  led: { kind: led-lamp, equipment: lamp, fitted: 2026-01-10, limits: { on-hours: 9000 h }, counts: { on-hours: lamp-on } }
  sediment: { kind: sediment-cartridge, equipment: ro, fitted: 2026-01-10, limits: { litres: 10000 L }, counts: { litres: feed } }
people: { ana: { name: Ana } }
`;

/** Home and hub are one machine with one clock. What is said of the lamp is dated by it. */
async function oneMachine() {
  const system = virtualSystem(T0);
  const shown = new Map<string, Observation>();
  const home = await keeperHome(YAML, {
    system,
    rows: [observed('switch.lamp', T0, 1), observed('sensor.feed', T0, 100)],
    hub: {
      present: async () => ({ hubNow: system.clock.now(), observations: [...shown.values()] }),
    },
  });
  await home.app.settled();
  const say = async (values: Readonly<Record<string, number>>): Promise<void> => {
    for (const [entity, value] of Object.entries(values))
      shown.set(entity, { entity, value, at: system.clock.now(), receivedAt: system.clock.now(), origin: 'live' });
    await home.tell(values);
    await home.app.settled();
  };
  await say({ 'switch.lamp': 1, 'sensor.feed': 100 });
  const lit = () => {
    const usage = home.app
      .usage()
      .find(({ part }) => part === 'led')
      ?.measures.find(({ measure }) => measure === 'on-hours');
    assert.ok(usage);
    return usage;
  };
  const litres = () => {
    const usage = home.app
      .usage()
      .find(({ part }) => part === 'sediment')
      ?.measures.find(({ measure }) => measure === 'litres');
    assert.ok(usage);
    return usage;
  };
  return { home, system, say, lit, litres };
}

const HOW = [
  ['an hour ahead', HOUR_MS],
  ['an hour back', -HOUR_MS],
  ['a year ahead', 365 * DAY_MS],
  ['a year back', -365 * DAY_MS],
] as const;

describe('the clock of the machine is set', () => {
  for (const [name, by] of HOW) {
    test(`${name}: what burned and ran is counted, what the clock skipped or gave twice is not`, async () => {
      const { home, system, say, lit, litres } = await oneMachine();
      system.advance(2 * HOUR_MS);
      await say({ 'sensor.feed': 110 });
      system.advance(30 * MINUTE_MS);
      system.setWallClock(system.clock.now() + by);
      system.advance(30 * MINUTE_MS);
      // Three hours lit; from here on dark.
      await say({ 'switch.lamp': 0, 'sensor.feed': 115 });
      system.advance(HOUR_MS);
      await say({ 'switch.lamp': 1 });
      system.advance(HOUR_MS);
      await say({ 'switch.lamp': 0, 'sensor.feed': 120 });
      const hours = lit();
      const water = litres();
      await home.stop();
      assert.ok(hours.low <= 4 && hours.high >= 4, `${hours.low} to ${hours.high} h hold the four hours`);
      assert.ok(hours.high - hours.low < 0.1, `${hours.low} to ${hours.high} h`);
      assert.ok(water.low <= 20 && water.high >= 20, `${water.low} to ${water.high} L hold the twenty litres`);
      assert.ok(water.high - water.low < 2, `${water.low} to ${water.high} L`);
    });
  }

  test('a year ahead and back again: it counts on as before', async () => {
    const { home, system, say, lit } = await oneMachine();
    system.advance(HOUR_MS);
    system.setWallClock(system.clock.now() + 365 * DAY_MS);
    system.advance(HOUR_MS);
    await say({ 'sensor.feed': 101 });
    system.setWallClock(system.clock.now() - 365 * DAY_MS);
    system.advance(HOUR_MS);
    await say({ 'switch.lamp': 0 });
    system.advance(HOUR_MS);
    await say({ 'sensor.feed': 102 });
    const hours = lit();
    await home.stop();
    assert.ok(hours.low <= 3 && hours.high >= 3 && hours.high - hours.low < 0.1, `${hours.low} to ${hours.high} h`);
  });

  test('noticed within a minute where nothing is switched', async () => {
    const { home, system, say, lit } = await oneMachine();
    system.advance(HOUR_MS);
    system.setWallClock(system.clock.now() + DAY_MS);
    for (let minute = 0; minute < 3; minute += 1) {
      system.advance(MINUTE_MS);
      await home.app.settled();
    }
    assert.ok(system.log.lines.some((line) => line.includes("the hub's clock was set ahead by")));
    await say({ 'switch.lamp': 0 });
    const hours = lit();
    await home.stop();
    assert.ok(hours.high < 1.2, `${hours.high} h`);
    assert.ok(hours.low > 1, `${hours.low} h`);
  });

  test('a single row dated in the future by a device with a clock of its own does not stop the count', async () => {
    const { home, system, say, lit } = await oneMachine();
    system.advance(HOUR_MS);
    await home.tellRows([{ ...observed('switch.lamp', system.clock.now() + DAY_MS, 0), origin: 'live' }]);
    await home.app.settled();
    system.advance(HOUR_MS);
    await say({ 'switch.lamp': 0 });
    const hours = lit();
    await home.stop();
    assert.equal(hours.low, 2);
    assert.equal(hours.high, 2);
  });
});
