import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import { SlackwaterError } from '../../../src/errors/index.ts';
import { type Equipment, ROLE_IDS, type RoleId, type Tank } from '../../../src/model/index.ts';
import { buildPlan, type SessionPlan } from '../../../src/procedure/index.ts';
import { equipment, reef, sensor, small, tankOf, without } from './tanks.ts';

const ids = (plan: SessionPlan): readonly string[] => plan.steps.map((step) => step.id);
const offs = (plan: SessionPlan): readonly string[] =>
  plan.steps.filter((step) => step.action === 'switch-off').map((step) => step.equipment ?? '');
const ons = (plan: SessionPlan): readonly string[] =>
  plan.steps.filter((step) => step.action === 'switch-on').map((step) => step.equipment ?? '');
const step = (plan: SessionPlan, id: string) => {
  const found = plan.steps.find((each) => each.id === id);
  assert.ok(found, `no step ${id} among ${ids(plan).join(' ')}`);
  return found;
};
const refusal = (build: () => unknown): SlackwaterError => {
  try {
    build();
  } catch (error) {
    assert.ok(error instanceof SlackwaterError);
    return error;
  }
  assert.fail('the plan was not refused');
};

describe('a short pump pause', () => {
  test('orders a tank with two returns and three circulation pumps from the rules alone', () => {
    const plan = buildPlan('pump-pause', reef());
    assert.deepEqual(offs(plan), [
      ...['top-off', 'ro', 'barrel-heater', 'mixer', 'doser', 'algae-lamp', 'skimmer'],
      ...['heater-1', 'heater-2', 'uv', 'reactor', 'algae', 'return-a', 'return-b'],
    ]);
    assert.deepEqual(ons(plan), [
      ...['return-b', 'return-a', 'heater-2', 'heater-1', 'uv', 'reactor', 'algae'],
      ...['skimmer', 'doser', 'algae-lamp', 'mixer', 'barrel-heater', 'ro', 'top-off'],
    ]);
    assert.deepEqual(plan.keptMovers, ['flow-left', 'flow-right', 'flow-back']);
    assert.deepEqual(plan.handled, []);
  });

  test('waits: foam 60 s and heater 15 min before the return, then the rise', () => {
    const plan = buildPlan('pump-pause', reef());
    assert.equal(step(plan, 'wait:skimmer').waitMs, 60_000);
    assert.equal(step(plan, 'wait:heater-2').waitMs, 15 * 60_000);
    assert.equal(step(plan, 'wait:heater-2').waitFrom, 'off:heater-2');
    const all = ids(plan);
    assert.ok(all.indexOf('wait:heater-2') < all.indexOf('off:return-a'));
    assert.equal(all.indexOf('settle:rise'), all.indexOf('off:return-b') + 1);
  });

  test('only the last return must lift the sump, and only the first one back must lower it', () => {
    const plan = buildPlan('pump-pause', reef());
    assert.equal(step(plan, 'off:return-a').needed, 3);
    assert.equal(step(plan, 'off:return-b').needed, 4);
    assert.equal(step(plan, 'on:return-b').needed, 4);
    assert.equal(step(plan, 'on:return-a').needed, 3);
  });

  test('every step says which rule put it there and why', () => {
    for (const each of buildPlan('pump-pause', reef()).steps) {
      assert.match(each.rule, /^K\d+$/);
      assert.ok(each.why.length > 10 && each.text.length > 10, each.id);
    }
    const plan = buildPlan('pump-pause', reef());
    assert.equal(step(plan, 'off:top-off').rule, 'K1');
    assert.equal(step(plan, 'off:heater-1').rule, 'K4');
    assert.equal(step(plan, 'off:uv').rule, 'K11');
  });

  test('a heater outside the sump keeps its flow and stays on', () => {
    const tank = small();
    const plan = buildPlan('pump-pause', {
      ...tank,
      equipment: [...tank.equipment, equipment('heater', 'heater', { inSump: false })],
    });
    assert.ok(!plan.outOfService.includes('heater'));
  });

  test('a changed rule changes the wait', () => {
    const plan = buildPlan('pump-pause', reef(), { K4: { waitMs: 20 * 60_000 } });
    assert.equal(step(plan, 'wait:heater-2').waitMs, 20 * 60_000);
  });

  test('circulation asked to stop too goes last and comes first', () => {
    const plan = buildPlan('pump-pause', reef(), {}, { alsoStop: ['flow-left'] });
    assert.equal(offs(plan).at(-1), 'flow-left');
    assert.equal(ons(plan)[0], 'flow-left');
    assert.deepEqual(plan.keptMovers, ['flow-right', 'flow-back']);
  });
});

describe('a skimmer service', () => {
  test('adders off first, then skimmer, rest, unplug, work, plug in, at rest, on, top-off last', () => {
    assert.deepEqual(ids(buildPlan('skimmer-service', small())), [
      ...['check:ready', 'off:top-off', 'off:skimmer', 'rest:skimmer', 'unplug:skimmer'],
      ...['hands-on:lift', 'hands-on:clean', 'hands-on:refit', 'plug-in:skimmer'],
      ...['steady:skimmer', 'on:skimmer', 'mark:top-off', 'on:top-off', 'finish'],
    ]);
  });

  test('the return, heaters and circulation stay out of it', () => {
    const plan = buildPlan('skimmer-service', reef());
    for (const id of ['return-a', 'heater-1', 'uv', 'flow-left']) assert.ok(!plan.outOfService.includes(id), id);
    assert.deepEqual(plan.handled, ['skimmer']);
  });

  test('foam rests 2 min, the level 5 min before the start', () => {
    const plan = buildPlan('skimmer-service', small());
    assert.equal(step(plan, 'rest:skimmer').waitMs, 120_000);
    assert.equal(step(plan, 'steady:skimmer').waitMs, 5 * 60_000);
    assert.equal(step(plan, 'mark:top-off').settle, 'mark');
  });

  test('drivers are taken over before and handed back after', () => {
    const all = ids(buildPlan('skimmer-service', reef()));
    assert.equal(all.indexOf('take-over:top-off'), all.indexOf('off:top-off') - 1);
    assert.equal(all.indexOf('hand-back:top-off'), all.indexOf('on:top-off') + 1);
  });

  test('cautions begin with local code, at the start and at the plug', () => {
    const plan = buildPlan('skimmer-service', small());
    assert.match(plan.cautions[0] ?? '', /local electrical code/);
    assert.match(step(plan, 'unplug:skimmer').cautions[0] ?? '', /local electrical code/);
    assert.match(step(plan, 'hands-on:clean').cautions.join(' '), /chlorine/);
  });

  test('of two skimmers one can be chosen', () => {
    const tank = small();
    const two = { ...tank, equipment: [...tank.equipment, equipment('skimmer-2', 'skimmer')] };
    assert.deepEqual(buildPlan('skimmer-service', two, {}, { equipment: ['skimmer-2'] }).handled, ['skimmer-2']);
    assert.deepEqual(buildPlan('skimmer-service', two).handled, ['skimmer', 'skimmer-2']);
  });
});

describe('what the tank cannot witness falls to a person', () => {
  test('no watts: the relay’s report is all there is', () => {
    const tank = small();
    const blind = tank.equipment.map((each) => (each.id === 'skimmer' ? without(each, 'powerEntity') : each));
    assert.equal(step(buildPlan('skimmer-service', { ...tank, equipment: blind }), 'off:skimmer').needed, 2);
  });

  test('no switch: a person switches and looks', () => {
    const tank = small();
    const bare = tank.equipment.map((each) => (each.id === 'skimmer' ? without(each, 'switchEntity') : each));
    const plan = buildPlan('skimmer-service', { ...tank, equipment: bare });
    for (const id of ['off:skimmer', 'on:skimmer']) {
      assert.equal(step(plan, id).needed, 5);
      assert.equal(step(plan, id).holdPoint, true);
    }
  });

  test('no level sensor: a person looks at room, rise, rest and mark', () => {
    const plan = buildPlan('pump-pause', { ...small(), sensors: [] });
    for (const id of ['look:head-room', 'settle:rise', 'steady:skimmer', 'mark:top-off']) {
      assert.equal(step(plan, id).holdPoint, true, id);
    }
    assert.equal(step(plan, 'off:return').needed, 3);
  });

  test('an unlearned drain-down is said and looked at', () => {
    const plan = buildPlan('pump-pause', {
      ...small(),
      sump: { litresPerCm: 4, normalLevelCm: 20, rimLevelCm: 42 },
    });
    assert.match(plan.notes.join(' '), /Drain-down unlearned/);
    assert.equal(step(plan, 'look:head-room').holdPoint, true);
  });

  test('no watts on any circulation pump: a person looks whether water moves', () => {
    const tank = small();
    const blind = tank.equipment.map((each) => (each.id === 'flow' ? without(each, 'powerEntity') : each));
    assert.equal(step(buildPlan('pump-pause', { ...tank, equipment: blind }), 'look:mover').holdPoint, true);
  });

  test('a schedule without a hub entity is said', () => {
    const tank = small();
    const driven = tank.equipment.map((each) =>
      each.id === 'skimmer' ? { ...each, driver: { kind: 'schedule' } as const } : each,
    );
    assert.match(
      buildPlan('skimmer-service', { ...tank, equipment: driven }).notes.join(' '),
      /skimmer: no hub entity/,
    );
  });
});

describe('refused, naming the rule and what would help', () => {
  const cases = [
    {
      name: 'the only water mover (K16)',
      build: () => buildPlan('pump-pause', tankOf([equipment('return', 'return-pump')])),
      rule: 'K16',
      hint: /circulation pump/,
    },
    {
      name: 'a sump without room (K10)',
      build: () =>
        buildPlan('pump-pause', {
          ...small(),
          sump: { litresPerCm: 4.05, normalLevelCm: 37, rimLevelCm: 42, drainDownL: 19.5 },
        }),
      rule: 'K10',
      hint: /Lower the sump's normal level by 0\.8 cm/,
    },
    {
      name: 'both of a pair in service (K32)',
      build: () =>
        buildPlan(
          'skimmer-service',
          tankOf([equipment('s1', 'skimmer', { pair: 'skimmers' }), equipment('s2', 'skimmer', { pair: 'skimmers' })]),
        ),
      rule: 'K32',
      hint: /s1 or s2/,
    },
    {
      name: 'no such equipment in the tank (K34)',
      build: () => buildPlan('skimmer-service', tankOf([equipment('flow', 'circulation-pump')])),
      rule: 'K34',
      hint: /Add the protein skimmer/,
    },
    {
      name: 'the hub itself (K34)',
      build: () => buildPlan('pump-pause', reef(), {}, { alsoStop: ['network'] }),
      rule: 'K34',
      hint: /Leave it out/,
    },
    {
      name: 'all circulation pumps together with the return (K16)',
      build: () => buildPlan('pump-pause', small(), {}, { alsoStop: ['flow'] }),
      rule: 'K16',
      hint: /running/,
    },
  ] as const;
  for (const { name, build, rule, hint } of cases) {
    test(name, () => {
      const error = refusal(build);
      assert.equal(error.code, 'SW-SES-003');
      assert.equal(error.params['rule'], rule);
      assert.match(error.whatToDo, hint);
    });
  }

  test('a procedure that does not exist, with the nearest one', () => {
    const error = refusal(() => buildPlan('skimer-service', small()));
    assert.equal(error.code, 'SW-SES-001');
    assert.match(error.whatToDo, /skimmer-service/);
  });

  test('19.5 L × 1.2 = 23.4 L just fit where the rim is high enough', () => {
    const sump = { litresPerCm: 1, normalLevelCm: 10, rimLevelCm: 33.5, drainDownL: 19.5 };
    assert.equal(buildPlan('pump-pause', { ...small(), sump }).procedure, 'pump-pause');
    assert.equal(
      refusal(() => buildPlan('pump-pause', { ...small(), sump: { ...sump, rimLevelCm: 33.3 } })).params['rule'],
      'K10',
    );
  });
});

/** K22 and K34 written down once more, apart from the ranks the plan is built from. */
const ADDERS: readonly RoleId[] = ['top-off', 'ro-unit', 'mixing-pump', 'dosing-pump', 'limewater-doser'];
const RESTORE: readonly (readonly RoleId[])[] = [
  ['circulation-pump'],
  ['return-pump'],
  ['heater', 'chiller'],
  ['uv-unit'],
  ['media-reactor', 'algae-reactor', 'calcium-reactor'],
  ['skimmer'],
  ['dosing-pump', 'limewater-doser'],
  ['fluorescent-bank', 'led-lamp', 'algae-lamp'],
  ['top-off'],
];

const anyTank: fc.Arbitrary<Tank> = fc
  .record({
    roles: fc.array(fc.constantFrom(...ROLE_IDS), { maxLength: 14 }),
    returns: fc.integer({ min: 1, max: 3 }),
    flows: fc.integer({ min: 1, max: 3 }),
    blind: fc.array(fc.constantFrom('none', 'no-power', 'no-switch', 'driven'), { minLength: 20, maxLength: 20 }),
    inSump: fc.boolean(),
    level: fc.boolean(),
    learned: fc.boolean(),
  })
  .map(({ roles, returns, flows, blind, inSump, level, learned }) => {
    const all: RoleId[] = [
      ...Array.from({ length: returns }, () => 'return-pump' as const),
      ...Array.from({ length: flows }, () => 'circulation-pump' as const),
      'skimmer',
      ...roles,
    ];
    const made = all.map((role, i): Equipment => {
      const each = equipment(`e${i}-${role}`, role, { inSump });
      if (blind[i] === 'no-power') return without(each, 'powerEntity');
      if (blind[i] === 'no-switch') return without(each, 'switchEntity');
      return blind[i] === 'driven' ? { ...each, driver: { kind: 'schedule', entity: `automation.e${i}` } } : each;
    });
    const tank = tankOf(made, { sensors: level ? [sensor('sump-level', 'sump-level')] : [] });
    return learned ? tank : { ...tank, sump: { litresPerCm: 4, normalLevelCm: 20, rimLevelCm: 42 } };
  });

describe('whatever the tank', () => {
  const roleIn = (tank: Tank, id: string | undefined): RoleId | undefined =>
    tank.equipment.find((each) => each.id === id)?.role;

  test('the order rules hold for both procedures on any tank', () => {
    fc.assert(
      fc.property(anyTank, fc.constantFrom('pump-pause', 'skimmer-service'), (tank, procedure) => {
        const plan = buildPlan(procedure, tank);
        const at = (action: string, roles: readonly RoleId[]): number[] =>
          plan.steps.flatMap((each, i) =>
            each.action === action && roles.includes(roleIn(tank, each.equipment) ?? 'hub-network') ? [i] : [],
          );
        assert.equal(new Set(ids(plan)).size, plan.steps.length);
        const disturbed = Math.min(
          ...at('switch-off', ['return-pump']),
          ...plan.steps.flatMap((each, i) => (each.action === 'unplug' ? [i] : [])),
        );
        // Every adder of the tank is off before the level moves, and none is left out.
        const adders = tank.equipment.filter((each) => ADDERS.includes(each.role));
        assert.equal(at('switch-off', ADDERS).length, adders.length);
        for (const i of at('switch-off', ADDERS)) assert.ok(i < disturbed);
        for (const i of at('switch-off', ['skimmer'])) assert.ok(i < disturbed);
        for (const i of at('switch-off', ['heater', 'uv-unit', 'media-reactor'])) assert.ok(i < disturbed);
        // One start each, after the stop; the order of K22; the top-off behind everything else.
        for (const id of plan.outOfService) {
          const off = ids(plan).indexOf(`off:${id}`);
          const on = ids(plan).indexOf(`on:${id}`);
          assert.ok(off >= 0 && on > off, id);
        }
        const groups = ons(plan).map((id) => RESTORE.findIndex((group) => group.includes(roleIn(tank, id) ?? 'fan')));
        const known = groups.filter((group) => group >= 0);
        assert.deepEqual(
          known,
          known.toSorted((a, b) => a - b),
        );
        const lastOther = Math.max(
          -1,
          ...at(
            'switch-on',
            ROLE_IDS.filter((role) => role !== 'top-off'),
          ),
        );
        for (const i of at('switch-on', ['top-off'])) assert.ok(i > lastOther);
        // Somebody keeps the water moving.
        const movers = tank.equipment.filter((each) => ['return-pump', 'circulation-pump'].includes(each.role));
        assert.ok(movers.some((each) => !plan.outOfService.includes(each.id)));
        for (const each of plan.steps.filter((one) => one.action === 'take-over')) {
          assert.ok(ids(plan).includes(`hand-back:${each.equipment}`));
        }
      }),
      { numRuns: 400 },
    );
  });

  test('a heater in the sump has its 15 min between its stop and the return’s', () => {
    fc.assert(
      fc.property(anyTank, (tank) => {
        const plan = buildPlan('pump-pause', tank);
        const all = ids(plan);
        const heaters = tank.equipment.filter((each) => each.role === 'heater' && each.inSump);
        const last = heaters.at(-1);
        if (!last) return;
        const wait = step(plan, `wait:${last.id}`);
        const firstReturn = plan.steps.findIndex(
          (each) => each.action === 'switch-off' && roleIn(tank, each.equipment) === 'return-pump',
        );
        assert.ok((wait.waitMs ?? 0) >= 10 * 60_000);
        assert.ok(all.indexOf(wait.id) < firstReturn);
        for (const each of heaters) assert.ok(all.indexOf(`off:${each.id}`) < all.indexOf(wait.id));
      }),
    );
  });

  test('the same tank gives the same plan', () => {
    fc.assert(
      fc.property(anyTank, (tank) => {
        assert.deepEqual(buildPlan('pump-pause', tank), buildPlan('pump-pause', tank));
      }),
    );
  });
});
