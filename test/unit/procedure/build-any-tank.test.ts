import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import { SlackwaterError } from '../../../src/errors/index.ts';
import {
  type Equipment,
  type EquipmentId,
  ROLE_IDS,
  type RoleId,
  type Sensor,
  type Tank,
} from '../../../src/model/index.ts';
import { buildPlan, type PlanOptions, type SessionPlan, type Step } from '../../../src/procedure/index.ts';
import { PROCEDURES } from '../../../src/rules/index.ts';
import { equipment, sensor, tankOf, without } from './tanks.ts';

// The rules of order written down once more, apart from the ranks and needs that the plans are built from.
const ADDERS: readonly RoleId[] = ['top-off', 'ro-unit', 'mixing-pump', 'dosing-pump', 'limewater-doser'];
const MOVERS: readonly RoleId[] = ['return-pump', 'circulation-pump'];
const STOP_ORDER: readonly (readonly RoleId[])[] = [
  [...ADDERS, 'calcium-reactor'],
  ['skimmer'],
  ['heater', 'chiller'],
  ['uv-unit'],
  ['media-reactor', 'algae-reactor'],
  ['return-pump'],
  ['circulation-pump'],
];
const START_ORDER: readonly (readonly RoleId[])[] = [
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
/** Work that lifts or lowers the sump level. */
const MOVES_LEVEL =
  /^hands-on:(lift|refit|siphon-out|pour-in|vacuum|uv-open|reactor-close|heater-out|floats|return-out)/;

const SENSORS: readonly Sensor['kind'][] = [
  ...(['sump-level', 'display-temperature', 'sump-temperature', 'low-float', 'high-float'] as const),
  ...(['salinity', 'product-tds', 'leak', 'leak'] as const),
];

/** What most tanks have. */
const OFTEN: readonly RoleId[] = [
  ...(['heater', 'heater', 'skimmer', 'skimmer', 'top-off', 'top-off'] as const),
  ...(['fluorescent-bank', 'ro-unit', 'uv-unit', 'media-reactor', 'circulation-pump'] as const),
];

const anyTank: fc.Arbitrary<Tank> = fc
  .record({
    roles: fc.array(fc.constantFrom(...ROLE_IDS, ...OFTEN), { maxLength: 16 }),
    returns: fc.integer({ min: 0, max: 2 }),
    flows: fc.integer({ min: 0, max: 3 }),
    kinds: fc.array(
      fc.record({
        blind: fc.constantFrom('none', 'none', 'no-power', 'no-switch', 'no-normal', 'driven'),
        inSump: fc.boolean(),
        paired: fc.boolean(),
        parts: fc.boolean(),
      }),
      { minLength: 21, maxLength: 21 },
    ),
    sensors: fc.subarray([...SENSORS]),
    sump: fc.constantFrom('none', 'unlearned', 'learned', 'full'),
    tubes: fc.integer({ min: 0, max: 4 }),
    lit: fc.boolean(),
  })
  .map(({ roles, returns, flows, kinds, sensors, sump, tubes, lit }) => {
    const all: RoleId[] = [
      ...Array.from({ length: returns }, () => 'return-pump' as const),
      ...Array.from({ length: flows }, () => 'circulation-pump' as const),
      ...roles,
    ];
    const made = all.map((role, i): Equipment => {
      const kind = kinds[i % kinds.length];
      const each = equipment(`e${i}-${role}`, role, {
        inSump: kind?.inSump ?? true,
        normalPowerW: 20,
        ...(kind?.paired ? { pair: role } : {}),
        ...(kind?.parts ? { quickDisconnect: true } : {}),
      });
      if (kind?.blind === 'no-power') return without(each, 'powerEntity', 'normalPowerW');
      if (kind?.blind === 'no-switch') return without(each, 'switchEntity', 'powerEntity', 'normalPowerW');
      if (kind?.blind === 'no-normal') return without(each, 'normalPowerW');
      return kind?.blind === 'driven' ? { ...each, driver: { kind: 'schedule', entity: `automation.e${i}` } } : each;
    });
    const base = tankOf(made, { sensors: sensors.map((kind, i) => sensor(`s${i}-${kind}`, kind)) });
    const { sump: learned, ...rest } = base;
    const tank: Tank = {
      ...rest,
      ...(sump === 'none' || learned === undefined
        ? {}
        : sump === 'learned'
          ? { sump: learned }
          : sump === 'full'
            ? { sump: { ...learned, normalLevelCm: 39 } }
            : { sump: { litresPerCm: 4, normalLevelCm: 20, rimLevelCm: 42 } }),
      ...(lit ? { lights: { onMinute: 9 * 60, offMinute: 21 * 60 } } : {}),
    };
    const bank = made.find((each) => each.role === 'fluorescent-bank');
    if (!bank || tubes === 0) return tank;
    const set = {
      id: 'tubes',
      name: 'tubes',
      kind: 'fluorescent-tubes',
      equipment: bank.id,
      pieces: tubes,
      limits: [],
      safety: false,
      usageFrom: {},
      usedBefore: {},
    };
    return { ...tank, parts: [set] };
  });

const NOON = Date.UTC(2026, 5, 1, 8);
const anyOptions: fc.Arbitrary<(tank: Tank) => PlanOptions> = fc
  .record({
    at: fc.option(fc.integer({ min: 0, max: 23 }), { nil: undefined, freq: 1 }),
    chosen: fc.option(fc.nat({ max: 20 }), { nil: undefined, freq: 1 }),
    stop: fc.option(fc.nat({ max: 20 }), { nil: undefined, freq: 2 }),
    stays: fc.constantFrom(undefined, 'person-stays' as const, 'outside-timer' as const),
  })
  .map(({ at, chosen, stop, stays }) => (tank: Tank) => {
    const one = chosen === undefined ? undefined : tank.equipment[chosen % Math.max(1, tank.equipment.length)];
    const more = stop === undefined ? undefined : tank.equipment[stop % Math.max(1, tank.equipment.length)];
    return {
      ...(at === undefined ? {} : { at: NOON + at * 3_600_000 }),
      ...(one ? { equipment: [one.id] } : {}),
      ...(more ? { alsoStop: [more.id] } : {}),
      ...(stays ? { allStop: stays } : {}),
    };
  });

/** A plan, or null where it was refused by a named rule with what would help. */
function planOrRefusal(procedure: string, tank: Tank, options: PlanOptions): SessionPlan | null {
  try {
    return buildPlan(procedure, tank, {}, options);
  } catch (error) {
    assert.ok(error instanceof SlackwaterError, String(error));
    assert.equal(error.code, 'SW-SES-003');
    assert.match(String(error.params['rule']), /^K\d+$/);
    assert.ok(error.whatToDo.length > 15);
    return null;
  }
}

type Walk = {
  readonly roleOf: (id: EquipmentId | undefined) => RoleId | undefined;
  /** For each step: what is off and what is unplugged when it begins. */
  readonly before: readonly { readonly off: ReadonlySet<EquipmentId>; readonly loose: ReadonlySet<EquipmentId> }[];
};

/** Walks along the plan and holds each step against what is off and unplugged by then. */
function walk(plan: SessionPlan, tank: Tank): Walk {
  const off = new Set<EquipmentId>();
  const loose = new Set<EquipmentId>();
  const taken = new Set<EquipmentId>();
  const before: { off: ReadonlySet<EquipmentId>; loose: ReadonlySet<EquipmentId> }[] = [];
  const roleOf = (id: EquipmentId | undefined) => tank.equipment.find((each) => each.id === id)?.role;
  for (const step of plan.steps) {
    before.push({ off: new Set(off), loose: new Set(loose) });
    const id = step.equipment ?? '';
    switch (step.action) {
      case 'switch-off':
        assert.ok(!off.has(id), `${step.id}: off already`);
        off.add(id);
        break;
      case 'unplug':
        assert.ok(off.has(id), `${step.id}: unplugged while on`);
        assert.ok(!loose.has(id), step.id);
        loose.add(id);
        break;
      case 'plug-in':
        assert.ok(loose.has(id), step.id);
        loose.delete(id);
        break;
      case 'switch-on':
        assert.ok(!loose.has(id), `${step.id}: energised while claimed`);
        assert.ok(off.has(id) || plan.procedure === 'power-cut-restart', `${step.id}: was not off`);
        off.delete(id);
        break;
      case 'take-over':
        assert.ok(!taken.has(id), step.id);
        taken.add(id);
        break;
      case 'hand-back':
        assert.ok(taken.has(id) && !off.has(id), `${step.id}: given back while off`);
        taken.delete(id);
        break;
      default:
    }
  }
  assert.deepEqual([[...off], [...loose], [...taken]], [[], [], []], 'everything comes back under its driver');
  return { roleOf, before };
}

const indexes = (plan: SessionPlan, is: (step: Step) => boolean): number[] =>
  plan.steps.flatMap((step, i) => (is(step) ? [i] : []));

function everyStepIsWhole(plan: SessionPlan): void {
  assert.equal(new Set(plan.steps.map((step) => step.id)).size, plan.steps.length, 'ids are unique');
  plan.steps.forEach((step, i) => {
    const earlier = plan.steps.slice(0, i);
    assert.match(step.rule, /^K\d+$/, step.id);
    assert.ok(step.why.length > 10 && step.text.length > 10, step.id);
    assert.doesNotMatch(step.text, /[{}]|undefined/, step.id);
    assert.ok(step.timeoutMs > 0 || (step.action === 'wait' && step.waitMs === 0), step.id);
    assert.ok(['leave-as-is', 'stay-off', 'restart-if-agreed'].includes(step.safeState), step.id);
    if (step.waitFrom !== undefined)
      assert.ok(
        earlier.some((each) => each.id === step.waitFrom),
        `${step.id} ${step.waitFrom}`,
      );
    if (step.action === 'wait') assert.ok((step.waitMs ?? 0) > 0, step.id);
    const { sameAs, low, high } = step.reading ?? {};
    if (sameAs !== undefined)
      assert.ok(
        earlier.some((each) => each.id === sameAs && each.reading),
        step.id,
      );
    if (low !== undefined && high !== undefined) assert.ok(low < high, step.id);
    assert.equal(step.action === 'reading', step.reading !== undefined, step.id);
    assert.equal(step.action === 'observe', step.observe !== undefined, step.id);
    if (['unplug', 'plug-in', 'hands-on', 'reading'].includes(step.action)) assert.ok(step.holdPoint, step.id);
  });
}

/** K1, K4, K7, K11, and who needs flow: before the level moves or the flow stops. */
function offBefore(plan: SessionPlan, tank: Tank, { roleOf, before }: Walk): void {
  const roleOfStep = (step: Step) => roleOf(step.equipment);
  const all = (roles: readonly RoleId[]) => tank.equipment.filter((each) => roles.includes(each.role));
  for (const i of indexes(
    plan,
    (step) => MOVES_LEVEL.test(step.id) || (step.action === 'switch-off' && roleOfStep(step) === 'return-pump'),
  )) {
    const { off } = before[i] ?? { off: new Set() };
    for (const each of all(ADDERS)) assert.ok(off.has(each.id), `K1: ${each.id} on at ${plan.steps[i]?.id}`);
    for (const each of all(['skimmer'])) assert.ok(off.has(each.id), `K7: ${each.id} on at ${plan.steps[i]?.id}`);
  }
  const returnOff = indexes(plan, (step) => step.action === 'switch-off' && roleOfStep(step) === 'return-pump');
  const [stop] = returnOff;
  if (stop === undefined) return;
  const { off } = before[stop] ?? { off: new Set() };
  const waits = (role: RoleId, leastMs: number, rule: string): void => {
    const concerned = all([role]).filter((each) => role !== 'heater' || each.inSump);
    for (const each of concerned) assert.ok(off.has(each.id), `${rule}: ${each.id} still on`);
    if (concerned.length === 0) return;
    const offs = indexes(
      plan,
      (step) =>
        step.action === 'switch-off' && roleOfStep(step) === role && concerned.some((one) => one.id === step.equipment),
    );
    const wait = plan.steps
      .slice(0, stop)
      .find(
        (step) =>
          step.action === 'wait' && step.rule === rule && roleOfStep(step) === role && step.id.startsWith('wait:'),
      );
    assert.ok(wait && (wait.waitMs ?? 0) >= leastMs, `${rule}: no wait before the return`);
    const last = offs.filter((i) => i < stop).at(-1);
    const inSumpLast = plan.steps.findIndex((step) => step.id === wait.waitFrom);
    assert.ok(last !== undefined && inSumpLast >= 0 && inSumpLast < stop, rule);
  };
  waits('skimmer', 30_000, 'K7');
  waits('heater', 10 * 60_000, 'K4');
  waits('uv-unit', 2 * 60_000, 'K11');
  for (const each of all(['media-reactor', 'algae-reactor', 'calcium-reactor', 'chiller', 'feeder'])) {
    assert.ok(off.has(each.id), `${each.id} needs the flow`);
  }
  // Whatever needs flow comes back with the return running: K5, K11.
  const needFlow = (step: Step) =>
    step.action === 'switch-on' && ['heater', 'uv-unit', 'chiller', 'media-reactor'].includes(roleOfStep(step) ?? '');
  for (const i of indexes(plan, needFlow)) {
    const stopped = all(['return-pump']).filter((each) => before[i]?.off.has(each.id));
    assert.deepEqual(stopped, [], `${plan.steps[i]?.id} before the return`);
  }
}

/** K4 once more: no water leaves the display before every heater is off and has had its time. */
function coolBeforeSiphon(plan: SessionPlan, tank: Tank, { before }: Walk): void {
  const siphon = plan.steps.findIndex((step) => step.id === 'hands-on:siphon-out');
  if (siphon < 0) return;
  const heaters = tank.equipment.filter((each) => each.role === 'heater');
  for (const each of heaters) {
    // In a composition one of them may be the new one, plugged in cold and still off.
    assert.ok(before[siphon]?.off.has(each.id) || plan.procedure === 'annual-overhaul', `K4: ${each.id} on`);
  }
  if (heaters.length === 0) return;
  const waits = plan.steps.slice(0, siphon).filter((step) => step.action === 'wait' && step.rule === 'K4');
  assert.ok(waits.length > 0, 'K4: no wait before the siphon');
}

/** K34 over the first stop of each, K22 from the last stop on, the top-off last of all. */
function inOrder(plan: SessionPlan, { roleOf }: Walk): void {
  const group = (order: readonly (readonly RoleId[])[], step: Step) =>
    order.findIndex((roles) => roles.includes(roleOf(step.equipment) ?? 'hub-network'));
  const ascending = (groups: readonly number[]) =>
    assert.deepEqual(
      groups.filter((each) => each >= 0),
      groups.filter((each) => each >= 0).toSorted((a, b) => a - b),
    );
  // One by one means back on before the next goes: such a pump takes nothing from what still runs.
  const alone = (step: Step): boolean => {
    const rest = plan.steps.slice(plan.steps.indexOf(step) + 1);
    const next = rest.find((each) => each.action === 'switch-off' || each.action === 'switch-on');
    return next?.action === 'switch-on' && next.equipment === step.equipment;
  };
  const offs = plan.steps.filter((step) => step.action === 'switch-off' && !/:\d+$/.test(step.id));
  ascending(
    offs.filter((step) => !alone(step) || plan.procedure === 'pump-pause').map((step) => group(STOP_ORDER, step)),
  );
  const lastOff = plan.steps.findLastIndex((step) => step.action === 'switch-off');
  const ons = plan.steps.filter((step, i) => step.action === 'switch-on' && i > lastOff);
  ascending(ons.map((step) => group(START_ORDER, step)));
  const topOff = ons.findIndex((step) => roleOf(step.equipment) === 'top-off');
  if (topOff >= 0) {
    for (const step of ons.slice(topOff)) assert.equal(roleOf(step.equipment), 'top-off', 'top-off last');
  }
}

function waterMoves(plan: SessionPlan, tank: Tank, { before }: Walk): void {
  const movers = tank.equipment.filter((each) => MOVERS.includes(each.role));
  const handled = new Set(plan.handled);
  for (const id of plan.lifeSupport ?? []) {
    assert.ok(movers.some((each) => each.id === id) && plan.outOfService.includes(id) && !handled.has(id), id);
  }
  if (movers.length === 0) return;
  const presence = plan.steps.findIndex((step) => step.id === 'presence');
  assert.equal(presence >= 0, plan.allStop !== undefined);
  before.forEach(({ off }, i) => {
    const running = movers.filter((each) => !off.has(each.id));
    if (running.length === 0) assert.ok(presence >= 0 && presence < i, 'K16: nothing moves the water');
    if (running.length === movers.length || plan.allStop) return;
    assert.ok(
      running.some((each) => plan.keptMovers?.includes(each.id)),
      `K16: ${plan.steps[i]?.id}`,
    );
  });
}

function oneOfAPair(tank: Tank, { before }: Walk): void {
  const pairOf = (id: EquipmentId) => tank.equipment.find((each) => each.id === id)?.pair;
  for (const { loose } of before) {
    const pairs = [...loose].map(pairOf).filter((pair) => pair !== undefined);
    assert.equal(new Set(pairs).size, pairs.length, 'K32');
  }
}

const refused = new Map<string, number>();
const built = new Map<string, number>();

describe('any tank, any procedure, any choice', () => {
  test('is planned by every rule, or refused by a named one', () => {
    fc.assert(
      fc.property(anyTank, fc.constantFrom(...Object.keys(PROCEDURES)), anyOptions, (tank, procedure, options) => {
        const plan = planOrRefusal(procedure, tank, options(tank));
        const counts = plan === null ? refused : built;
        counts.set(procedure, (counts.get(procedure) ?? 0) + 1);
        if (plan === null) return;
        everyStepIsWhole(plan);
        const walked = walk(plan, tank);
        offBefore(plan, tank, walked);
        coolBeforeSiphon(plan, tank, walked);
        inOrder(plan, walked);
        waterMoves(plan, tank, walked);
        oneOfAPair(tank, walked);
        for (const id of plan.handled) {
          const of = (action: Step['action']): number =>
            plan.steps.findIndex((s) => s.action === action && s.equipment === id);
          const order: readonly number[] = [of('switch-off'), of('unplug'), of('plug-in'), of('switch-on')];
          assert.ok(!order.includes(-1), `${id}: off, unplug, plug in, on`);
          const lastOn: number = plan.steps.findLastIndex((s) => s.action === 'switch-on' && s.equipment === id);
          assert.ok(
            (order[0] ?? 0) < (order[1] ?? 0) && (order[1] ?? 0) < (order[2] ?? 0) && (order[2] ?? 0) < lastOn,
            id,
          );
        }
        assert.equal(plan.steps.at(-1)?.id, 'finish');
        assert.match(plan.cautions[0] ?? '', /local electrical code/);
      }),
      { numRuns: 3_000 },
    );
  });

  test('every procedure was built and refused among them', () => {
    for (const procedure of Object.keys(PROCEDURES)) {
      assert.ok((built.get(procedure) ?? 0) >= 3, `${procedure} built ${built.get(procedure) ?? 0} times`);
    }
    assert.ok([...refused.values()].reduce((a, b) => a + b, 0) > 100);
  });
});
