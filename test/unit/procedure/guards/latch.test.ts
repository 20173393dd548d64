import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { type GuardRecord, judgeReset, restoredGuards } from '../../../../src/procedure/guards/index.ts';
import { guard, HOUR, hand, MINUTE, robin, SECOND } from './bench.ts';

const leak = guard('leak', ['top-off'], { sensors: ['leak'] });
const records = (h: ReturnType<typeof hand>): GuardRecord[] =>
  h.effects.flatMap((effect) => (effect.kind === 'record' ? [{ ...effect, at: h.at }] : []));

describe('a latch', () => {
  test('sends off again, within its rate, until the plug is proved off, and then rests', () => {
    const h = hand([leak]);
    h.on('top-off', 9);
    h.tell({ 'sensor.leak': 1 });
    h.wait(25 * SECOND);
    assert.deepEqual(h.offs(), ['top-off', 'top-off']);
    h.off('top-off');
    h.wait(2 * HOUR);
    assert.equal(h.offs().length, 2);
  });

  test('an off that is not proved within half a minute is an alarm of its own', () => {
    const h = hand([leak]);
    h.on('top-off', 9);
    h.tell({ 'sensor.leak': 1 });
    h.tell({ 'switch.top-off': 0, 'sensor.top-off_power': 9 });
    h.wait(40 * SECOND);
    assert.match(h.alarms()[1] ?? '', /is not proved off\. Pull its plug with dry hands/);
  });

  test('never sends more than six times an hour', () => {
    const h = hand([leak]);
    h.tell({ 'sensor.leak': 1 });
    for (let n = 0; n < 59; n++) {
      h.off('top-off');
      h.wait(20 * SECOND);
      h.on('top-off', 9);
      h.wait(40 * SECOND);
    }
    assert.ok(h.offs().length <= 6, `${h.offs().length} in an hour`);
  });

  test('what other hands switch on is switched off again and told', () => {
    const h = hand([leak]);
    h.tell({ 'sensor.leak': 1 });
    h.off('top-off');
    h.wait(MINUTE);
    h.on('top-off', 9);
    assert.deepEqual(h.offs(), ['top-off', 'top-off']);
    assert.match(h.alarms().at(-1) ?? '', /came on although the guard Guard leak holds it off/);
  });

  test('a command the hub refuses is told at once', () => {
    const h = hand([leak]);
    h.tell({ 'sensor.leak': 1 });
    h.step({
      kind: 'off-ended',
      at: h.at,
      guard: 'leak',
      equipment: 'top-off',
      outcome: 'refused',
      detail: 'it is unavailable',
    });
    assert.match(h.alarms().at(-1) ?? '', /could not be switched off \(it is unavailable\)/);
  });

  test('is told again after an hour and then daily', () => {
    const h = hand([leak]);
    h.tell({ 'sensor.leak': 1 });
    h.off('top-off');
    const remindersIn = (ms: number): number => {
      const before = h.alarms().length;
      h.wait(ms);
      return h.alarms().length - before;
    };
    assert.equal(remindersIn(59 * MINUTE), 0);
    assert.equal(remindersIn(2 * MINUTE), 1);
    assert.equal(remindersIn(23 * HOUR), 0);
    assert.equal(remindersIn(2 * HOUR), 1);
  });

  test('waits for the hub where it is away, and reads before it sends', () => {
    const h = hand([leak]);
    h.on('top-off', 9);
    h.tell({ 'sensor.leak': 1 });
    h.step({ kind: 'hub', at: h.at, up: false });
    h.wait(10 * MINUTE);
    assert.equal(h.offs().length, 1);
    h.step({ kind: 'hub', at: h.at, up: true });
    assert.equal(h.offs().length, 1);
    h.off('top-off');
    h.wait(MINUTE);
    assert.equal(h.offs().length, 1);
  });

  test('leaves alone what a session has in its hands, and takes it up after', () => {
    const h = hand([leak]);
    h.step({ kind: 'session', at: h.at, equipment: ['top-off'] });
    h.tell({ 'sensor.leak': 1 });
    assert.deepEqual(h.effects, []);
    h.step({ kind: 'session', at: h.at, equipment: [] });
    assert.deepEqual(h.offs(), ['top-off']);
  });
});

describe('a reset', () => {
  const latched = () => {
    const h = hand([leak]);
    h.tell({ 'sensor.leak': 1 });
    h.off('top-off');
    return h;
  };

  test('needs a person, a latch, and a cause that is not seen to stand', () => {
    const h = latched();
    const why = (id: string, by: Parameters<typeof judgeReset>[2]) => {
      const verdict = judgeReset(h.state, id, by, h.ctx);
      return verdict.ok ? 'ok' : verdict.why;
    };
    assert.equal(why('leak', { kind: 'machine', name: 'node-red' }), 'no-person');
    assert.equal(why('other', robin), 'no-latch');
    assert.equal(why('leak', robin), 'stands');
    h.tell({ 'sensor.leak': 0 });
    assert.equal(why('leak', robin), 'ok');
  });

  test('that is refused changes nothing', () => {
    const h = latched();
    for (const by of [robin, { kind: 'machine', name: 'x' } as const, { kind: 'unknown', via: 'hub' } as const])
      h.step({ kind: 'reset', at: h.at, guard: 'leak', by });
    assert.ok(h.state.latches['leak']);
    assert.equal(records(h).length, 1);
  });

  test('switches nothing on; a new leak latches again', () => {
    const h = latched();
    h.tell({ 'sensor.leak': 0 });
    const made = h.step({ kind: 'reset', at: h.at, guard: 'leak', by: robin });
    assert.deepEqual(
      made.map(({ kind }) => kind),
      ['record', 'alarm-over'],
    );
    assert.deepEqual(h.state.latches, {});
    h.tell({ 'sensor.leak': 1 });
    assert.ok(h.state.latches['leak']);
  });
});

describe('after a restart', () => {
  test('what was latched is latched; its plug is read, not blindly switched', () => {
    const h = hand([leak]);
    h.tell({ 'sensor.leak': 1 });
    const kept = records(h);
    const again = hand([leak]);
    again.state = restoredGuards(kept, JSON.parse(JSON.stringify(h.state.memory)), again.ctx, again.at);
    again.step({ kind: 'hub', at: again.at, up: true });
    assert.deepEqual(again.offs(), []);
    again.off('top-off');
    again.wait(HOUR);
    assert.deepEqual(again.offs(), []);
    again.on('top-off', 9);
    assert.deepEqual(again.offs(), ['top-off']);
  });

  test('what came on meanwhile is switched off as soon as it is read', () => {
    const h = hand([leak]);
    h.tell({ 'sensor.leak': 1 });
    const again = hand([leak]);
    again.state = restoredGuards(records(h), {}, again.ctx, again.at);
    again.at += SECOND;
    again.step({ kind: 'hub', at: again.at, up: true });
    again.at += SECOND;
    again.on('top-off', 9);
    assert.deepEqual(again.offs(), ['top-off']);
  });

  test('a latch outlives its guard being taken out of the configuration', () => {
    const h = hand([leak]);
    h.tell({ 'sensor.leak': 1 });
    const again = hand([]);
    again.state = restoredGuards(records(h), {}, again.ctx, again.at);
    assert.deepEqual(Object.keys(again.state.latches), ['leak']);
    assert.ok(judgeReset(again.state, 'leak', robin, again.ctx).ok);
  });

  test('a day’s runs are not forgotten', () => {
    const cap = guard('top-off', ['top-off'], { runMs: MINUTE, perDayMs: 2 * MINUTE });
    const h = hand([cap]);
    for (let n = 0; n < 5; n++) {
      h.on('top-off', 9);
      h.wait(20 * SECOND);
      h.on('top-off', 0);
      h.wait(20 * SECOND);
    }
    const again = hand([cap]);
    again.at = h.at;
    again.state = { ...restoredGuards([], JSON.parse(JSON.stringify(h.state.memory)), again.ctx, h.at), hubUp: true };
    for (let n = 0; n < 2; n++) {
      again.on('top-off', 9);
      again.wait(20 * SECOND);
      again.on('top-off', 0);
    }
    assert.deepEqual(again.offs()[0], 'top-off');
  });
});
