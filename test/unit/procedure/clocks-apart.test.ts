// While hub and service disagree on the time nothing is believed, and yet nothing that looks wrong goes by untold.
import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { ada, createSitting, heldAt } from './plant.ts';
import { small } from './tanks.ts';

const handsOn = () => {
  const s = createSitting({
    tank: small(),
    procedure: 'skimmer-service',
    answer: (step) => (step.startsWith('hands-on') || step === '#resume' ? null : ada),
  });
  s.until('hands on', heldAt('hands-on:lift'));
  return s;
};
const MINUTE_MS = 60_000;

describe('a claimed plug that comes on while the clocks disagree', () => {
  for (const byMs of [8 * MINUTE_MS, -90_000, 61 * MINUTE_MS])
    test(`is told: the service's clock was set by ${byMs / 1000} s, before and after the two were compared`, () => {
      for (const compared of [true, false]) {
        const s = handsOn();
        const hubAt = s.now() + 4_000;
        s.jumpClock(byMs);
        if (compared) s.send({ kind: 'clock-skew', at: s.now(), skewMs: -byMs, nextNonce: s.nonce() });
        const on = { entity: 'switch.skimmer', value: 1, changedAt: hubAt, reportedAt: hubAt };
        // The report from a moment before comes after it.
        const before = { entity: 'switch.skimmer', value: 0, changedAt: hubAt - 200, reportedAt: hubAt - 200 };
        s.send({ kind: 'readings', at: s.now() + 4_000, readings: [on, before], nextNonce: s.nonce() });
        assert.deepEqual(s.alarms(), ['foreign-hand'], `compared: ${compared}`);
        assert.match(s.trail.state.hold?.text ?? '', /claimed by Ada. Hands out of the water now/);
      }
    });

  test('is told: the clock of the hub was set back', () => {
    const s = handsOn();
    const hubAt = s.now() - 8 * MINUTE_MS;
    s.send({ kind: 'clock-skew', at: s.now(), skewMs: -8 * MINUTE_MS, nextNonce: s.nonce() });
    const on = { entity: 'switch.skimmer', value: 1, changedAt: hubAt, reportedAt: hubAt + 2_000 };
    s.send({ kind: 'readings', at: s.now() + 2_000, readings: [on], nextNonce: s.nonce() });
    assert.deepEqual(s.alarms(), ['foreign-hand']);
  });

  test('and an "on" from before the claim is no sign of life, however the clocks stand', () => {
    const s = handsOn();
    const claimedAt = s.trail.state.claims[0]?.since ?? 0;
    s.jumpClock(-8 * MINUTE_MS);
    s.send({ kind: 'clock-skew', at: s.now(), skewMs: 8 * MINUTE_MS, nextNonce: s.nonce() });
    const on = { entity: 'switch.skimmer', value: 1, changedAt: claimedAt - 60_000, reportedAt: claimedAt - 60_000 };
    s.send({ kind: 'readings', at: s.now(), readings: [on], nextNonce: s.nonce() });
    assert.deepEqual(s.alarms(), []);
  });
});

test('a claimed plug that goes on, off and on again within a moment is told twice', () => {
  const s = handsOn();
  const at = s.now();
  const relay = (value: number, afterMs: number) => ({
    entity: 'switch.skimmer',
    value,
    changedAt: at + afterMs,
    reportedAt: at + afterMs,
  });
  s.send({ kind: 'readings', at: at + 500, readings: [relay(1, 500)], nextNonce: s.nonce() });
  s.send({ kind: 'readings', at: at + 1_500, readings: [relay(0, 900), relay(1, 1_400)], nextNonce: s.nonce() });
  assert.deepEqual(s.alarms(), ['foreign-hand', 'foreign-hand']);
});

for (const byMs of [61 * MINUTE_MS, -8 * MINUTE_MS])
  test(`a sump that rises too far is told while the clocks disagree by ${byMs / 1000} s, and nothing is restarted`, () => {
    const s = createSitting({
      tank: small(),
      procedure: 'pump-pause',
      answer: (step) => (step === '#begin' ? ada : null),
    });
    s.until('pause', heldAt('hands-on:pause'));
    const hubAt = s.now();
    s.jumpClock(byMs);
    s.send({ kind: 'clock-skew', at: s.now(), skewMs: -byMs, nextNonce: s.nonce() });
    for (const after of [1, 2, 3, 4]) {
      const reportedAt = hubAt + 3_000 * after;
      const level = { entity: 'sensor.sump_level', value: 33, changedAt: reportedAt, reportedAt };
      s.send({ kind: 'readings', at: s.now() + 3_000 * after, readings: [level], nextNonce: s.nonce() });
    }
    assert.deepEqual(s.alarms(), ['limit-exceeded']);
    assert.ok(
      s
        .words()
        .some((text) =>
          /The sump seems to stand at 33\.0 cm, over the .* by the clocks nothing can be judged/.test(text),
        ),
    );
    assert.ok(!s.commands().includes('on:return'));
  });
