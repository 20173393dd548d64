import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { createLeftOut, LEFT_OUT } from '../../../src/app/left-out.ts';
import { keptLog } from '../../../src/io/system/index.ts';
import type { System } from '../../../src/ports/index.ts';
import type { SessionState } from '../../../src/procedure/index.ts';
import { ada, bo, createSitting, ended, heldAt, machine, type Sitting } from '../procedure/plant.ts';
import { reef, small, without } from '../procedure/tanks.ts';

const codeOf = (work: () => unknown): string => {
  try {
    work();
  } catch (error) {
    return (error as { code?: string }).code ?? String(error);
  }
  return 'nothing thrown';
};

function listFor(ctx: ReturnType<typeof createSitting>['ctx'], settings = new Map<string, string>()) {
  const log = keptLog();
  let changes = 0;
  const system = { log } as unknown as System;
  const store = {
    setting: (key: string) => settings.get(key) ?? null,
    putSetting: (key: string, value: string) => void settings.set(key, value),
  };
  const list = createLeftOut({ store, system, ctx, onChange: () => changes++ });
  return { list, settings, log, changes: () => changes };
}

const aborted = (more: Partial<Sitting> = {}) => {
  const s = createSitting({
    tank: small(),
    procedure: 'pump-pause',
    answer: (step) => (step === '#begin' ? ada : null),
    ...more,
  });
  s.until('pause', heldAt('hands-on:pause'));
  s.send({ kind: 'abort', at: s.now(), actor: bo, nextNonce: s.nonce() });
  return s;
};
const ids = (list: ReturnType<typeof listFor>['list']) => list.list().map((one) => one.equipment);

describe('what a session leaves out of service', () => {
  test('is listed with when and by which session, until each is seen running again', () => {
    const s = aborted();
    const { list, changes } = listFor(s.ctx);
    list.session(s.trail.state);
    assert.deepEqual(ids(list), ['top-off', 'skimmer', 'return']);
    assert.equal(list.list()[0]?.title, s.trail.state.plan.title);
    assert.equal(list.list()[0]?.since, s.trail.state.endedAt);
    // Old reports, and a relay that is on without its watts, bring nothing back.
    list.readings(s.plant.read(s.now() - 60_000));
    s.seconds(5);
    const relay = { entity: 'switch.return', value: 1, changedAt: s.now(), reportedAt: s.now() };
    list.readings([relay, { entity: 'sensor.return_power', value: 0.4, changedAt: s.now(), reportedAt: s.now() }]);
    assert.deepEqual(ids(list), ['top-off', 'skimmer', 'return']);
    s.plant.turn('return', true, s.now());
    s.plant.turn('top-off', true, s.now());
    s.seconds(5);
    list.readings(s.plant.read(s.now()));
    assert.deepEqual(ids(list), ['skimmer']);
    assert.ok(changes() >= 2);
  });

  test('survives a restart of the service, and what came back meanwhile does not come on it again', () => {
    const s = aborted();
    const first = listFor(s.ctx);
    first.list.session(s.trail.state);
    s.plant.turn('return', true, s.now());
    s.seconds(5);
    first.list.readings(s.plant.read(s.now()));
    const second = listFor(s.ctx, first.settings);
    second.list.session(s.trail.state);
    assert.deepEqual(ids(second.list), ['top-off', 'skimmer']);
    assert.ok(first.settings.has(LEFT_OUT));
  });

  test('a driver that is still suspended keeps its equipment listed until it is active', () => {
    const s = aborted({ tank: reef() });
    const { list } = listFor(s.ctx);
    list.session(s.trail.state);
    const topOff = list.list().find((one) => one.equipment === 'top-off');
    assert.equal(topOff?.driver, 'automation.top_off');
    s.plant.turn('top-off', true, s.now());
    s.seconds(5);
    list.readings(s.plant.read(s.now()));
    assert.ok(ids(list).includes('top-off'));
    s.plant.world.drivers.set('automation.top_off', true);
    s.seconds(5);
    list.readings(s.plant.read(s.now()));
    assert.ok(!ids(list).includes('top-off'));
  });

  test('a later session that brings it back takes it off; one that ends well leaves nothing', () => {
    const s = aborted();
    const { list } = listFor(s.ctx);
    list.session(s.trail.state);
    const t = createSitting({ tank: small(), procedure: 'pump-pause' });
    t.until('complete', ended);
    const later: SessionState = { ...t.trail.state, id: 's2' };
    list.session(later);
    assert.deepEqual(ids(list), []);
  });

  test('what was off before the session is as it was', () => {
    const s = aborted({ startOff: ['top-off'] });
    const { list } = listFor(s.ctx);
    list.session(s.trail.state);
    assert.deepEqual(ids(list), ['skimmer', 'return']);
  });

  test('a claim that stands keeps it on the list whatever its plug says', () => {
    const s = createSitting({
      tank: small(),
      procedure: 'skimmer-service',
      answer: (step) => (step.startsWith('hands-on') || step.startsWith('#release') ? null : ada),
    });
    s.until('hands on', heldAt('hands-on:lift'));
    s.send({ kind: 'abort', at: s.now(), actor: bo, nextNonce: s.nonce() });
    const { list } = listFor(s.ctx);
    list.session(s.trail.state);
    s.plant.turn('skimmer', true, s.now());
    s.plant.plug('skimmer').unplugged = false;
    s.seconds(5);
    list.readings(s.plant.read(s.now()));
    assert.ok(ids(list).includes('skimmer'));
  });

  test('what nothing reports comes off by a person’s word, and by nobody else’s', () => {
    const tank = small();
    const blind = tank.equipment.map((each) =>
      each.id === 'skimmer' ? without(each, 'switchEntity', 'powerEntity') : each,
    );
    const s = aborted({
      tank: { ...tank, equipment: blind },
      answer: (step) => (step === '#begin' || step.startsWith('off:') ? ada : null),
    });
    const { list } = listFor(s.ctx);
    list.session(s.trail.state);
    s.seconds(60);
    list.readings(s.plant.read(s.now()));
    assert.ok(ids(list).includes('skimmer'));
    assert.equal(
      codeOf(() => list.back('skimmer', machine)),
      'SW-SES-007',
    );
    assert.equal(
      codeOf(() => list.back('skimer', ada)),
      'SW-SES-020',
    );
    list.back('skimmer', ada);
    assert.ok(!ids(list).includes('skimmer'));
  });

  test('a damaged note of it is no reason not to start', () => {
    const s = aborted();
    const { list } = listFor(s.ctx, new Map([[LEFT_OUT, '{"left": 3']]));
    assert.deepEqual(ids(list), []);
  });
});
