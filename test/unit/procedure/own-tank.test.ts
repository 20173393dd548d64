import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import {
  advance,
  differingFacts,
  type EngineContext,
  replay,
  type SessionEvent,
  type SessionState,
  startedTank,
} from '../../../src/procedure/index.ts';
import { createSitting } from './plant.ts';
import { small } from './tanks.ts';

const started = (until: string, done: (state: SessionState) => boolean) => {
  const s = createSitting({ tank: small(), procedure: 'skimmer-service' });
  s.until(until, done);
  // As it comes back from the store.
  const kept = JSON.parse(JSON.stringify(startedTank(s.ctx)));
  const events = s.trail.events.map(
    (event): SessionEvent => (event.kind === 'started' ? { ...event, settings: s.ctx.settings, tank: kept } : event),
  );
  return { s, kept, events, lived: { ...s.trail.state, settings: s.ctx.settings, tank: kept } };
};

const timeOf = (events: readonly SessionEvent[]): number => (events.at(-1)?.at ?? 0) + 1_000;

const edited = (ctx: EngineContext, edit: Partial<EngineContext['equipment'][string]>): EngineContext => {
  const skimmer = ctx.equipment['skimmer'];
  assert.ok(skimmer);
  return { ...ctx, equipment: { ...ctx.equipment, skimmer: { ...skimmer, ...edit } } };
};

describe('a tank configured otherwise while a session is open', () => {
  const { s, kept, events, lived } = started('the skimmer is claimed', (state) => state.claims.length > 0);
  const EDITS: readonly [string, EngineContext, string][] = [
    [
      'another plug for the skimmer',
      edited(s.ctx, { switchEntity: 'switch.other' }),
      `skimmer: switch ${s.ctx.equipment['skimmer']?.switchEntity}, now switch.other`,
    ],
    [
      'other normal watts',
      edited(s.ctx, { normalPowerW: 400 }),
      `skimmer: normal watts ${s.ctx.equipment['skimmer']?.normalPowerW}, now 400`,
    ],
    [
      'the skimmer taken out of the configuration',
      { ...s.ctx, equipment: Object.fromEntries(Object.entries(s.ctx.equipment).filter(([id]) => id !== 'skimmer')) },
      'skimmer is no longer configured',
    ],
    ['a leak sensor added', { ...s.ctx, wetEntities: ['binary_sensor.new'] }, 'leak and high-level sensors'],
  ];

  for (const [what, now, says] of EDITS) {
    test(`${what}: told again it is what it was, and the difference is named`, () => {
      assert.deepEqual(replay(events, now), lived);
      const texts = differingFacts(kept, startedTank(now));
      assert.equal(texts.length, 1);
      assert.match(texts.join(), new RegExp(says));
    });
  }

  test('without the tank on record the claim would have been lost', () => {
    const [, now] = EDITS[0] ?? assert.fail();
    const untold = events.map((event) => (event.kind === 'started' ? { ...event, tank: s.ctx } : event));
    const bare = untold.map((event): SessionEvent => {
      if (event.kind !== 'started') return event;
      const { tank: _, ...rest } = event;
      return rest;
    });
    assert.notDeepEqual(replay(bare, now)?.claims, lived.claims);
  });

  test('the same facts in another order of keys are no difference', () => {
    const turned = Object.fromEntries(Object.entries(kept).reverse()) as typeof kept;
    assert.deepEqual(differingFacts(kept, turned), []);
  });

  test('a restart holds it with what differs and what to do, on every surface until it is over', () => {
    const [, now] = EDITS[0] ?? assert.fail();
    const changed = differingFacts(kept, startedTank(now));
    const before = replay(events, now);
    assert.ok(before);
    const at = timeOf(s.trail.events);
    const [state] = advance(before, { kind: 'service-restarted', at, nextNonce: 'after', changed }, now);
    assert.equal(state.status, 'held');
    assert.equal(state.hold?.reason, 'service-restarted');
    assert.match(state.hold?.text ?? '', /skimmer: switch .*, now switch\.other/);
    assert.match(state.hold?.text ?? '', /finish it; if not, abort/);
    assert.deepEqual(state.changed, changed);
    const [back] = advance(state, { kind: 'service-restarted', at: at + 1_000, nextNonce: 'again' }, s.ctx);
    assert.deepEqual(back.changed, []);
  });
});

test('a plan nobody had confirmed is not confirmed on another tank: it ends', () => {
  const s = createSitting({ tank: small(), procedure: 'skimmer-service' });
  assert.equal(s.trail.state.status, 'idle');
  const event = { kind: 'service-restarted', at: timeOf(s.trail.events), nextNonce: 'n' } as const;
  const [same] = advance(s.trail.state, event, s.ctx);
  assert.equal(same.status, 'idle');
  const [state, effects] = advance(s.trail.state, { ...event, changed: ['Skimmer is no longer configured'] }, s.ctx);
  assert.equal(state.status, 'stopped');
  assert.match(state.summary, /Skimmer is no longer configured\. Nothing was switched; start it again/);
  assert.ok(!effects.some(({ kind }) => kind === 'command' || kind === 'driver'));
});
