import assert from 'node:assert/strict';
import { test } from 'node:test';
import fc from 'fast-check';
import type { GuardDef } from '../../../../src/model/index.ts';
import { type GuardInput, guardStep, judgeReset, NO_GUARDS } from '../../../../src/procedure/guards/index.ts';
import { guard, hand, robin, T0, TANK } from './bench.ts';

// Water movers stand in these lists on purpose: the configuration refuses them, and the guards must not need that.
const GUARDS: readonly GuardDef[] = [
  guard('high-level', ['top-off', 'doser', 'return', 'circulation'], { sensors: ['high'] }),
  guard('leak', ['ro', 'return'], { sensors: ['leak'] }),
  guard('top-off', ['top-off'], { runMs: 60_000, perDayMs: 300_000 }),
  guard('dry-heater', ['heater'], { sensors: ['temperature', 'level'], belowCm: 15 }),
  guard('barrel-dry', ['barrel-heater'], { pump: 'mixing' }),
  guard('ro-litres', ['ro'], { sensors: ['product'], litres: 10, runMs: 3_600_000 }),
  guard('flow-while-off', ['ro'], { sensors: ['product'] }),
  guard('welded-relay', ['circulation']),
];
const MOVERS = ['return', 'circulation'];

const ENTITIES = [
  ...TANK.equipment.flatMap(({ switchEntity, powerEntity }) => [switchEntity ?? '', powerEntity ?? '']),
  ...TANK.sensors.map(({ entity }) => entity),
];

const value = fc.oneof(
  fc.constant(null),
  fc.constantFrom(0, 1, 9, 14, 26, 46, 198, 300),
  fc.double({ min: 0, max: 400, noNaN: true }),
);
const readings = fc.record({
  kind: fc.constant('readings' as const),
  wait: fc.integer({ min: 0, max: 120_000 }),
  values: fc.array(fc.tuple(fc.constantFrom(...ENTITIES), value, fc.integer({ min: 0, max: 200_000 })), {
    maxLength: 6,
  }),
});
/** Wet and dry again, so that latches and resets come about. */
const wetness = fc.record({
  kind: fc.constant('readings' as const),
  wait: fc.integer({ min: 0, max: 30_000 }),
  values: fc.array(fc.tuple(fc.constantFrom('sensor.high', 'sensor.leak'), fc.constantFrom(0, 0, 1), fc.constant(0)), {
    minLength: 1,
    maxLength: 2,
  }),
});
const id = fc.constantFrom(...GUARDS.map((one) => one.id));
const other = fc.oneof(
  fc.record({ kind: fc.constant('tick' as const), wait: fc.integer({ min: 0, max: 600_000 }) }),
  fc.record({ kind: fc.constant('hub' as const), wait: fc.constant(1_000), up: fc.boolean() }),
  fc.record({
    kind: fc.constant('session' as const),
    wait: fc.constant(1_000),
    equipment: fc.subarray(TANK.equipment.map((one) => one.id)),
  }),
  fc.record({
    kind: fc.constant('off-ended' as const),
    wait: fc.constant(500),
    guard: id,
    equipment: fc.constantFrom('top-off', 'ro'),
    outcome: fc.constantFrom('confirmed', 'refused', 'still-working', 'sent-unconfirmed', 'invalid'),
  }),
  fc.record({
    kind: fc.constant('reset' as const),
    wait: fc.constant(1_000),
    guard: id,
    by: fc.constantFrom(
      robin,
      robin,
      robin,
      { kind: 'machine' as const, name: 'm' },
      { kind: 'unknown' as const, via: 'hub' },
    ),
  }),
);
const resetting = fc.record({
  kind: fc.constant('reset' as const),
  wait: fc.constant(1_000),
  guard: fc.constantFrom('high-level', 'leak'),
  by: fc.constantFrom(robin, { kind: 'machine' as const, name: 'm' }),
});
type Made = typeof readings extends fc.Arbitrary<infer A> ? A : never;
type Other = typeof other extends fc.Arbitrary<infer A> ? A : never;

function inputOf(made: Made | Other, at: number): GuardInput {
  switch (made.kind) {
    case 'readings':
      return {
        kind: 'readings',
        at,
        readings: made.values.map(([entity, seen, age]) => ({
          entity,
          value: seen,
          changedAt: at - age,
          reportedAt: at - age,
        })),
      };
    case 'off-ended':
      return { ...made, at, detail: 'x' } as GuardInput;
    default:
      return { ...made, at } as GuardInput;
  }
}

const story = fc.array(
  fc.oneof(
    { weight: 3, arbitrary: readings },
    { weight: 2, arbitrary: wetness },
    { weight: 3, arbitrary: other },
    { weight: 2, arbitrary: resetting },
  ),
  { minLength: 5, maxLength: 60, size: 'max' },
);

test('guards only ever switch off, only what they name, never a water mover, never what a session holds, within their rate', () => {
  let offs = 0;
  fc.assert(
    fc.property(story, (made) => {
      const h = hand(GUARDS);
      const sent = new Map<string, number[]>();
      for (const one of made) {
        h.at += one.wait;
        for (const effect of h.step(inputOf(one, h.at))) {
          if (effect.kind !== 'off') continue;
          offs++;
          assert.deepEqual(Object.keys(effect).toSorted(), ['entity', 'equipment', 'guard', 'kind']);
          assert.ok(!MOVERS.includes(effect.equipment), effect.equipment);
          assert.ok(!h.state.inSession.includes(effect.equipment));
          assert.ok(GUARDS.find((def) => def.id === effect.guard)?.off.includes(effect.equipment));
          assert.ok(h.state.latches[effect.guard], 'only under a latch');
          const key = `${effect.guard} ${effect.equipment}`;
          const before = (sent.get(key) ?? []).filter((at) => h.at - at < 3_600_000);
          sent.set(key, [...before, h.at]);
        }
      }
    }),
    { numRuns: 400 },
  );
  assert.ok(offs > 200, `only ${offs} commands in all of it`);
});

test('between two commands to one plug lie ten seconds, and no more than six go out within an hour of one latch', () => {
  fc.assert(
    fc.property(story, (made) => {
      const h = hand(GUARDS);
      let sent: { readonly key: string; readonly at: number }[] = [];
      for (const one of made) {
        h.at += one.wait;
        for (const effect of h.step(inputOf(one, h.at))) {
          // A reset by a person begins anew.
          if (effect.kind === 'record' && effect.change === 'reset')
            sent = sent.filter(({ key }) => !key.startsWith(`${effect.guard} `));
          if (effect.kind !== 'off') continue;
          const key = `${effect.guard} ${effect.equipment}`;
          const own = sent.filter((each) => each.key === key && h.at - each.at < 3_600_000);
          assert.ok(own.every(({ at }) => h.at - at >= 10_000));
          assert.ok(own.length < 6);
          sent.push({ key, at: h.at });
        }
      }
    }),
    { numRuns: 300 },
  );
});

test('a latch goes by a person’s reset alone, and that reset is recorded', () => {
  let resets = 0;
  fc.assert(
    fc.property(story, (made) => {
      const h = hand(GUARDS);
      for (const one of made) {
        h.at += one.wait;
        const before = Object.keys(h.state.latches);
        const input = inputOf(one, h.at);
        const effects = h.step(input);
        for (const latched of before) {
          if (
            h.state.latches[latched] !== undefined &&
            !effects.some((e) => e.kind === 'record' && e.guard === latched && e.change === 'reset')
          )
            continue;
          resets++;
          assert.equal(input.kind, 'reset');
          assert.ok(input.kind === 'reset' && input.by.kind === 'person' && input.guard === latched);
          assert.ok(effects.some((e) => e.kind === 'record' && e.change === 'reset' && e.by === 'Robin'));
        }
      }
    }),
    { numRuns: 400 },
  );
  assert.ok(resets > 10, `${resets} resets`);
});

test('unknown readings clear nothing, whatever went before', () => {
  fc.assert(
    fc.property(story, (made) => {
      const h = hand(GUARDS);
      for (const one of made) {
        h.at += one.wait;
        h.step(inputOf(one, h.at));
      }
      const before = Object.keys(h.state.latches).toSorted();
      h.tell(Object.fromEntries(ENTITIES.map((entity) => [entity, null])));
      for (let n = 0; n < 30; n++) h.wait(60_000);
      for (const latched of before) assert.ok(h.state.latches[latched], latched);
    }),
    { numRuns: 60 },
  );
});

test('a latch is recorded before anything is done about it, and the state given is not changed', () => {
  fc.assert(
    fc.property(story, (made) => {
      const h = hand(GUARDS);
      for (const one of made) {
        h.at += one.wait;
        const frozen = JSON.stringify(h.state);
        const given = h.state;
        const effects = h.step(inputOf(one, h.at));
        assert.equal(JSON.stringify(given), frozen);
        for (const [index, effect] of effects.entries()) {
          if (effect.kind !== 'off' || given.latches[effect.guard] !== undefined) continue;
          const recorded = effects.findIndex((e) => e.kind === 'record' && e.guard === effect.guard);
          assert.ok(recorded >= 0 && recorded < index);
        }
      }
    }),
    { numRuns: 200 },
  );
});

test('what is kept as text is the same state again', () => {
  fc.assert(
    fc.property(story, fc.integer({ min: 1, max: 40 }), (made, at) => {
      const h = hand(GUARDS);
      for (const one of made.slice(0, at)) {
        h.at += one.wait;
        h.step(inputOf(one, h.at));
      }
      const copy = JSON.parse(JSON.stringify(h.state)) as typeof h.state;
      const input = { kind: 'tick' as const, at: h.at + 1_000 };
      assert.deepEqual(guardStep(copy, input, h.ctx), guardStep(h.state, input, h.ctx));
    }),
    { numRuns: 100 },
  );
});

test('nobody resets what was never latched', () => {
  const h = hand(GUARDS);
  for (const def of GUARDS) assert.equal(judgeReset({ ...NO_GUARDS, at: T0 }, def.id, robin, h.ctx).ok, false);
});
