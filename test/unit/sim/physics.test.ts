import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  atLocal,
  DEMO_NOW,
  DRAIN_DOWN_L,
  DRAIN_DOWN_MS,
  leftToDrainL,
  localTime,
  NET_VOLUME_L,
  PLUG_KEYS,
  type PlugKey,
  startTank,
  stepTank,
  sumpLevelCm,
  sumpLitres,
  type TankState,
  WH_PER_L_C,
} from '../../../src/sim/index.ts';

const powered = (...keys: readonly PlugKey[]): Readonly<Record<PlugKey, boolean>> =>
  Object.fromEntries(PLUG_KEYS.map((key) => [key, keys.includes(key)])) as Record<PlugKey, boolean>;

const tankWith = (...keys: readonly PlugKey[]): TankState =>
  startTank({ at: DEMO_NOW, seed: 5, running: powered(...keys) });

const levelCm = (tank: TankState): number => sumpLevelCm(sumpLitres(tank));
const near = (actual: number, expected: number, within: number, what: string): void =>
  assert.ok(Math.abs(actual - expected) <= within, `${what}: ${actual} is not within ${within} of ${expected}`);

describe('water of the simulated tank', () => {
  test('a stopped return lets 19.5 L down, which lifts the sump to 27.6 cm, most of it within a minute', () => {
    const before = tankWith('return_pump');
    near(levelCm(before), 20, 0.1, 'level while all runs');
    const minute = stepTank(before, { powered: powered() }, 60_000);
    assert.ok(minute.downL > 16 && minute.downL < 19.5, `${minute.downL} L after a minute`);
    const rest = stepTank(minute, { powered: powered() }, 60_000);
    near(rest.downL, DRAIN_DOWN_L, 1e-9, 'litres down');
    // (24 cm x 2.79 L/cm + 20 cm x 1.26 L/cm + 19.5 L) / 4.05 L/cm: boxes of 90 x 45 cm with a return chamber of 28 x 45 cm.
    near(levelCm(rest), 27.57, 0.05, 'level at rest');
    assert.equal(stepTank(rest, { powered: powered() }, 600_000).downL, DRAIN_DOWN_L, 'and no more comes');
  });

  test('a blocked siphon-break hole lets 58.5 L down, to 37.2 cm, past the high float at 31 cm', () => {
    const blocked = startTank({ at: DEMO_NOW, seed: 5, running: powered('return_pump'), siphonHoleBlocked: true });
    near(levelCm(stepTank(blocked, { powered: powered() }, 600_000)), 37.2, 0.1, 'level at rest');
  });

  test('the restarted return brings the level back within 5 mm in three minutes', () => {
    const down = stepTank(tankWith('return_pump'), { powered: powered() }, 300_000);
    const back = stepTank(down, { powered: powered('return_pump') }, 200_000);
    near(levelCm(back), levelCm(tankWith('return_pump')), 0.5, 'level');
  });

  test('the outlet drains as an orifice under a falling head does', () => {
    // Torricelli, closed form 2A/(Cd a sqrt(2g)) (sqrt h1 - sqrt h2): A 0.6 m², orifice 27.2 mm, Cd 0.62, from 0.60 m to
    // 0.57 m takes 14.7514787 s.
    const publishedS = 14.751478744677392;
    const orificeM2 = (Math.PI * 0.0272 ** 2) / 4;
    const emptyingS = ((2 * 0.6) / (0.62 * orificeM2 * Math.sqrt(2 * 9.80665))) * Math.sqrt(0.6);
    const left = leftToDrainL(DRAIN_DOWN_L, DRAIN_DOWN_L, (DRAIN_DOWN_MS * publishedS) / emptyingS);
    near(left / DRAIN_DOWN_L, 0.57 / 0.6, 1e-4, 'share left');
  });

  test('without top-off the salinity follows S V / (V - E)', () => {
    // The formula's published case: 35 in 200 L, 4 L evaporated: 35.714.
    near((35 * 200) / (200 - 4), 35.714285714285715, 1e-12, 'the formula');
    const start = { ...tankWith('return_pump'), missingL: 0 };
    const day = stepTank(start, { powered: powered('return_pump') }, 86_400_000);
    near(day.salinityPpt, (35 * NET_VOLUME_L) / (NET_VOLUME_L - day.totals.evaporatedL), 1e-9, 'salinity');
    near(day.totals.evaporatedL, 6.3, 0.4, 'litres a day in March');
    assert.ok(levelCm(day) < 15.5, 'only the return chamber falls, some 4.8 cm a day');
  });

  test('the top-off runs some seventeen times a day for twenty seconds, as often as its float asks', () => {
    const day = stepTank(
      tankWith('return_pump', 'top_off'),
      { powered: powered('return_pump', 'top_off') },
      86_400_000,
    );
    assert.ok(day.totals.topOffRuns >= 15 && day.totals.topOffRuns <= 20, `${day.totals.topOffRuns} runs`);
    near(day.totals.topOffL / day.totals.topOffRuns, 0.35, 0.04, 'litres a run');
    near(levelCm(day), 20, 0.4, 'level');
  });

  test('a stopped return never makes the top-off ask, whatever the step lengths', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 100, max: 30_000 }), { minLength: 1, maxLength: 20 }), (steps) => {
        let tank = tankWith('return_pump', 'top_off');
        for (const dt of steps) {
          tank = stepTank(tank, { powered: powered('top_off') }, dt);
          assert.equal(tank.totals.topOffL, 0);
          assert.ok(tank.downL >= 0 && tank.downL <= DRAIN_DOWN_L);
        }
      }),
    );
  });
});

describe('heat of the simulated tank', () => {
  test('a litre takes the heat of standard seawater', () => {
    // TEOS-10 (gsw, rho_t_exact and cp_t_exact at SP 35, 25 °C): 200 L hold 818,465.53 J/K.
    near(WH_PER_L_C, 818_465.5312235468 / 200 / 3600, 0.002, 'Wh per litre and degree');
  });

  test('with everything off it cools by about 0.3 °C an hour towards a room some six degrees cooler', () => {
    const night = startTank({ at: atLocal(140, 12), seed: 5, running: powered() });
    const hour = stepTank(night, { powered: powered() }, 3_600_000);
    near(night.displayC - hour.displayC, 0.33, 0.08, 'fall in the display');
  });

  test('both heaters lift the whole by at most 0.77 °C an hour', () => {
    const start = tankWith('return_pump');
    const hour = stepTank(start, { powered: powered('return_pump', 'heater_1', 'heater_2') }, 3_600_000);
    assert.ok(hour.displayC > start.displayC + 0.3 && hour.displayC < start.displayC + 0.77);
  });

  test('without flow the heaters heat their chamber only, until their own stop', () => {
    const start = tankWith('return_pump');
    const stuck = stepTank(start, { powered: powered('heater_1', 'heater_2') }, 3_600_000);
    assert.ok(stuck.displayC < start.displayC);
    near(stuck.sumpC, 26.6, 0.1, 'the chamber at the upper stop');
  });
});

describe('watts of the simulated tank', () => {
  test('the return starts softly over twelve seconds', () => {
    const off = stepTank(tankWith(), { powered: powered() }, 1_000);
    const half = stepTank(off, { powered: powered('return_pump') }, 6_000);
    const full = stepTank(half, { powered: powered('return_pump') }, 10_000);
    near(half.devices.return_pump.meanPowerW, 24, 3, 'after six seconds');
    near(full.devices.return_pump.meanPowerW, 48, 3, 'after sixteen');
  });

  test('a fluorescent bank starts near 180 W and comes down to 171 W in three minutes', () => {
    const off = stepTank(tankWith(), { powered: powered() }, 1_000);
    const cold = stepTank(off, { powered: powered('lamp_bank_1') }, 2_000);
    const warm = stepTank(cold, { powered: powered('lamp_bank_1') }, 240_000);
    near(cold.devices.lamp_bank_1.meanPowerW, 180, 6, 'cold');
    near(warm.devices.lamp_bank_1.meanPowerW, 171, 6, 'warm');
  });

  test('a pulsing pump swings between 8 and 30 W with a mean near 22', () => {
    let tank = tankWith('circulation_left');
    const seen: number[] = [];
    for (let second = 0; second < 600; second += 1) {
      tank = stepTank(tank, { powered: powered('circulation_left') }, 1_000);
      seen.push(tank.devices.circulation_left.powerW);
    }
    near(seen.reduce((sum, watts) => sum + watts, 0) / seen.length, 22, 3, 'mean');
    assert.ok(Math.max(...seen) - Math.min(...seen) > 18, 'it swings');
  });

  test('the same seed gives the same run, another seed another', () => {
    const run = (seed: number): TankState =>
      stepTank(
        startTank({ at: DEMO_NOW, seed, running: powered('return_pump') }),
        { powered: powered('return_pump') },
        60_000,
      );
    assert.deepEqual(run(1), run(1));
    assert.notDeepEqual(run(1).devices, run(2).devices);
  });
});

describe('the demo calendar', () => {
  test('local times agree with the time zone data at hand', () => {
    const wall = new Intl.DateTimeFormat('en-GB', {
      timeZone: 'Europe/London',
      hour: '2-digit',
      minute: '2-digit',
      hourCycle: 'h23',
    });
    for (let day = 0; day <= 547; day += 1) {
      for (const [hours, minutes] of [
        [0, 0],
        [3, 30],
        [9, 30],
        [23, 59],
      ] as const) {
        const at = atLocal(day, hours, minutes);
        const text = `${String(hours).padStart(2, '0')}:${String(minutes).padStart(2, '0')}`;
        assert.equal(wall.format(at), text, `D${day}`);
        assert.deepEqual([localTime(at).day, localTime(at).weekday], [day, day % 7]);
      }
    }
    assert.equal(new Date(DEMO_NOW).toISOString(), '2027-03-02T10:00:00.000Z');
  });
});
