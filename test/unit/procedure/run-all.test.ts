import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import type { Tank } from '../../../src/model/index.ts';
import { offeredProcedures } from '../../../src/procedure/index.ts';
import { full } from './plan-reading.ts';
import { createSitting } from './plant.ts';
import { sensor, small, without } from './tanks.ts';

/** What a person would type at the toy plant. */
const TYPED: Readonly<Record<string, number>> = {
  'batch-age': 12,
  'tank-salinity': 35,
  'batch-salinity': 35.2,
  'tank-temperature': 25.4,
  'batch-temperature': 25,
  'tank-alkalinity': 7.6,
  'batch-alkalinity': 8.4,
  'litres-out': 45,
  'batch-still-warm': 24.8,
  'litres-in': 44,
  'salinity-after': 35.1,
  'temperature-after': 25.2,
  'algae-grams': 180,
  'media-rinse': 3,
  'product-tds': 0,
  'usual-level': 20,
  'hours-dark': 3,
  'drain-level': 24.8,
};
const typed = (step: string): number | undefined => TYPED[step.split(':')[1] ?? ''];

/** Everything on, a person who does what is asked: from the plan's first word to its end. */
function runThrough(procedure: string, tank: Tank) {
  const sitting = createSitting({
    tank,
    procedure,
    type: typed,
    observe: ({ after }) => {
      const open = after.plan.steps[after.stepIndex];
      const id = open?.equipment;
      // The low float is held down, then the high one lifted.
      if (open?.action === 'observe' && id !== undefined) {
        sitting.plant.plug(id).calling = open.observe?.is === 'at-least';
      }
    },
  });
  const ended = sitting.until('the end', ({ status }) => ['complete', 'stopped', 'aborted'].includes(status), 40_000);
  return { sitting, ended };
}

const withoutFloats = (): Tank => ({ ...full(), sensors: [sensor('sump-level', 'sump-level')] });
const blind = (): Tank => {
  const tank = small();
  const plain = (id: string) => ['skimmer', 'top-off'].includes(id);
  return {
    ...tank,
    sensors: [],
    equipment: tank.equipment.map((each) =>
      plain(each.id) ? without(each, 'switchEntity', 'powerEntity', 'normalPowerW') : each,
    ),
  };
};

describe('each procedure, run by the engine on a tank without a fault', () => {
  for (const [name, tank] of [
    ['a full reef', withoutFloats()],
    ['a small tank', small()],
    ['a tank with next to nothing to see by', blind()],
  ] as const) {
    for (const { id } of offeredProcedures(tank)) {
      test(`${name}: ${id}`, () => {
        const { sitting, ended } = runThrough(id, tank);
        assert.equal(ended.status, 'complete', ended.summary);
        assert.deepEqual(ended.offNow, []);
        assert.deepEqual(ended.claims, []);
        // Everything that was on is on again, in the plant and not only by the session's word.
        for (const each of tank.equipment) {
          if (each.switchEntity === undefined) continue;
          assert.equal(sitting.plant.plug(each.id).relay, true, `${each.id} is on again`);
        }
        // No alarm but what a long sitting brings: a reminder of a claim that stands, an equipment off for long.
        const alarms = sitting.trail.effects.flatMap(({ effect }) => (effect.kind === 'alarm' ? [effect] : []));
        const others = alarms.filter(({ code }) => code !== 'off-too-long' && code !== 'claim-stands');
        assert.deepEqual(others, []);
        for (const [entity, active] of sitting.plant.world.drivers) assert.equal(active, true, entity);
      });
    }
  }

  test('in the evening a lamp set is seen lit all the same, though its schedule has it off', () => {
    const tank = full();
    const sitting = createSitting({ tank, procedure: 'lamp-set-change', type: typed, startOff: ['lamp'] });
    const ended = sitting.until('the end', ({ status }) => status === 'complete', 20_000);
    const ons = sitting.trail.effects.flatMap(({ effect }) =>
      effect.kind === 'command' && effect.command.turn === 'on' ? [effect.command.equipment] : [],
    );
    assert.deepEqual(ons, ['lamp']);
    assert.equal(ended.records.find((record) => record.id === 'on:lamp')?.result, 'passed');
  });

  test('two lit tubes of three are not taken for a set', () => {
    const tank = full();
    const dark: Tank = {
      ...tank,
      // The plant draws what the equipment says: two thirds of what the set should.
      equipment: tank.equipment.map((each) => (each.id === 'lamp' ? { ...each, normalPowerW: 114 } : each)),
    };
    const sitting = createSitting({
      tank: dark,
      procedure: 'lamp-set-change',
      replan: (plan) => ({
        ...plan,
        steps: plan.steps.map((step) =>
          step.id === 'on:lamp' ? { ...step, expectW: { low: 159, high: 183, pieces: 3 } } : step,
        ),
      }),
    });
    const held = sitting.until('a hold', (state) => state.hold?.reason === 'not-proven', 20_000);
    assert.match(held.hold?.text ?? '', /one of three/);
  });
});
