// What must not alarm: months of an ordinary tank with lost reports, bubbles, hub restarts and a slow change of season.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { guard, HOUR, hand, MINUTE, SECOND, T0 } from './bench.ts';

/** Small and repeatable; a failure names its seed. */
function random(seed: number): () => number {
  let a = seed;
  return () => {
    a = (a + 0x6d2b79f5) | 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
}

const GUARDS = [
  guard('top-off', ['top-off']),
  guard('high-level', ['top-off', 'ro'], { sensors: ['level', 'high'], aboveCm: 24 }),
  guard('dry-heater', ['heater'], { sensors: ['level', 'temperature'], belowCm: 16 }),
  guard('welded-relay', ['heater']),
  guard('flow-while-off', ['ro'], { sensors: ['product'] }),
];

const DAYS = 45;

for (const seed of [1, 2])
  test(`${DAYS} days of an ordinary tank latch nothing and tell nothing (seed ${seed})`, () => {
    const next = random(seed);
    const normal = (): number => next() + next() + next() + next() + next() + next() - 3;
    const h = hand(GUARDS);
    /** Reports of any kind are lost now and then. */
    const report = (values: Readonly<Record<string, number>>): void => {
      const kept = Object.entries(values).filter(() => next() >= 0.003);
      if (kept.length > 0) h.tell(Object.fromEntries(kept));
    };
    /** The devices answer what they are asked within two seconds, nearly always. */
    const answer = (values: Readonly<Record<string, number>>, from: number): void => {
      if (h.effects.slice(from).some(({ kind }) => kind === 'refresh') && next() < 0.95) h.tell(values);
    };
    const sensors = (): Readonly<Record<string, number>> => ({
      'sensor.level': 20 + 0.15 * normal() + (next() < 0.01 ? 2 : 0),
      'sensor.high': 0,
      'sensor.temperature': Math.round((25.4 + 0.04 * normal()) * 10) / 10,
      'sensor.product': 1_000,
      'switch.ro': 0,
      'sensor.ro_power': 0.3,
    });
    const run = (ms: number): void => {
      const reports = { 'switch.top-off': 1, 'sensor.top-off_power': 9 };
      report(reports);
      for (let done = 0; done < ms; done += SECOND) {
        const from = h.effects.length;
        h.wait(SECOND);
        answer(reports, from);
      }
      report({ 'switch.top-off': 1, 'sensor.top-off_power': 0.2 });
    };
    const heat = (minutes: number): void => {
      h.on('heater', 198);
      for (let n = 0; n < minutes; n++) {
        h.wait(MINUTE);
        report({ ...sensors(), 'sensor.heater_power': 198 });
      }
      // The plug meters once more with what it drew before it opened.
      report({ 'switch.heater': 0 });
      h.wait(4 * SECOND);
      report({ 'sensor.heater_power': 198 });
      h.wait(6 * SECOND);
      h.off('heater');
    };
    h.off('heater');
    for (let day = 0; day < DAYS; day++) {
      // Evaporation rises by half over the two months, as from summer to winter.
      const runs = 17 + Math.round((8 * day) / DAYS);
      for (let n = 0; n < runs; n++) {
        const until = T0 + day * 24 * HOUR + ((n + 1) * 24 * HOUR) / (runs + 1);
        if (n % 4 === 0) heat(10);
        run((20 + 2 * normal()) * SECOND);
        if (n === 9 && day % 10 === 0) {
          h.step({ kind: 'hub', at: h.at, up: false });
          h.at += 4 * MINUTE;
          h.step({ kind: 'hub', at: h.at, up: true });
          h.off('heater');
        }
        while (h.at < until) {
          h.at += 10 * MINUTE;
          const from = h.effects.length;
          const all = {
            ...sensors(),
            'switch.top-off': 1,
            'sensor.top-off_power': 0.2,
            'switch.heater': 0,
            'sensor.heater_power': 0.3,
          };
          report(all);
          h.step({ kind: 'tick', at: h.at });
          answer(all, from);
        }
      }
    }
    assert.deepEqual(h.alarms(), []);
    assert.deepEqual(h.offs(), []);
    const learned = h.state.memory['top-off'] ?? {};
    assert.ok((learned['days'] as readonly number[]).length >= 30, 'a usual day was learned');
  });
