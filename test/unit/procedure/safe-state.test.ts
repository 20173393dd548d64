import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import type { SessionPlan } from '../../../src/procedure/index.ts';
import { ada, bo, createSitting, ended, heldAt, type Sitting } from './plant.ts';
import { before, stepOf } from './steps.ts';
import { small } from './tanks.ts';

const MINUTE_MS = 60_000;
const ALL_STOP = { warnMs: 15 * MINUTE_MS, alarmMs: 30 * MINUTE_MS, hardMs: 60 * MINUTE_MS };

/** A pause that stops the circulation too, last of all; return and circulation agreed as life support. */
const allStopped = (plan: SessionPlan): SessionPlan => {
  const off = stepOf('off:flow', 'switch-off', { equipment: 'flow', needed: 3, safeState: 'restart-if-agreed' });
  const on = stepOf('on:flow', 'switch-on', { equipment: 'flow', needed: 3 });
  const stopped = before('hands-on:pause', off)(before('on:return', on)(plan));
  return {
    ...stopped,
    // The pause waits for a person: what ends by itself is shown elsewhere.
    steps: stopped.steps.map((step) => {
      if (step.action !== 'hands-on') return step;
      const { waitMs: _, ...rest } = step;
      return rest;
    }),
    outOfService: [...plan.outOfService, 'flow'],
    keptMovers: [],
    lifeSupport: ['return', 'flow'],
    allStop: ALL_STOP,
  };
};
/** As above, with a wait in place of the hands: nobody is in the water. */
const untouched = (plan: SessionPlan): SessionPlan => {
  const stopped = allStopped(plan);
  const wait = stepOf('wait:long', 'wait', { waitMs: 3 * 60 * MINUTE_MS });
  return { ...stopped, steps: stopped.steps.map((step) => (step.action === 'hands-on' ? wait : step)) };
};

const answers = (step: string) => (step === '#begin' ? ada : null);
const sit = (replan: Sitting['replan'], more: Partial<Sitting> = {}) =>
  createSitting({ tank: small(), procedure: 'pump-pause', answer: answers, ...(replan ? { replan } : {}), ...more });
const stoppedAt = (s: ReturnType<typeof sit>) => {
  s.until('all off', () => s.record('off:flow').closedAt !== null);
  return s.record('off:flow').closedAt ?? 0;
};
const commandTimes = (s: ReturnType<typeof sit>, turn: 'on' | 'off') =>
  s.trail.effects.flatMap(({ at, effect }) =>
    effect.kind === 'command' && effect.command.turn === turn ? [[effect.command.equipment, at] as const] : [],
  );

describe('what is agreed at the start', () => {
  test('is named in the begin question, with the limit and the word "I am at the tank"', () => {
    const s = sit(allStopped);
    const text = s.trail.state.prompt?.text ?? '';
    assert.match(text, /I am at the tank/);
    assert.match(text, /never for longer than 60 min/);
    assert.match(text, /You agree that return, flow may be restarted without asking again/);
  });

  test('without it the last water mover is never stopped', () => {
    const s = sit((plan) => {
      const { allStop: _, ...rest } = allStopped(plan);
      return rest;
    });
    const state = s.until('held', (each) => each.hold?.reason === 'effect-missing');
    assert.match(state.hold?.text ?? '', /flow is not stopped: it is the last water mover/);
    assert.ok(!s.commands().includes('off:flow'));
  });

  test('a mover that dies in the waits before the stop is found then, not believed from the first check', () => {
    const s = sit((plan) => before('off:return', stepOf('wait:cool', 'wait', { waitMs: 15 * MINUTE_MS }))(plan));
    s.until('cooling', () => s.record('wait:cool').result === 'open');
    s.plant.turn('flow', false, s.now());
    const state = s.until('held', (each) => each.hold?.reason === 'effect-missing');
    assert.match(state.hold?.text ?? '', /return is not stopped: no other water mover is proved to run \(flow\)/);
    assert.ok(!s.commands().includes('off:return'));
  });
});

describe('the clock of all movers', () => {
  test('warns, alarms, and at the hard limit restarts what was agreed, one at a time and proved', () => {
    const s = sit(untouched);
    const since = stoppedAt(s);
    s.until('restarted', (state) => state.prompt?.step === '#resume', 90 * 60);
    const told = s.trail.effects.flatMap(({ at, effect }) =>
      effect.kind === 'alarm' && effect.code === 'all-stop' ? [Math.round((at - since) / MINUTE_MS)] : [],
    );
    // To the minute: the clock begins with the command, a little before the stop is proved.
    assert.deepEqual(told, [15, 30, 60]);
    const on = commandTimes(s, 'on');
    assert.deepEqual(
      on.map(([id]) => id),
      ['flow', 'return'],
    );
    assert.ok((on[0]?.[1] ?? 0) - since >= ALL_STOP.hardMs - MINUTE_MS);
    assert.ok((on[1]?.[1] ?? 0) - (on[0]?.[1] ?? 0) >= 10_000);
    assert.deepEqual(s.trail.state.offNow, ['top-off', 'skimmer']);
    assert.match(s.trail.state.hold?.text ?? '', /flow was restarted as agreed|return, flow was restarted as agreed/);
    s.seconds(4);
    s.confirm(ada);
    s.until('home', ended);
    assert.equal(s.trail.state.status, 'complete');
    assert.deepEqual(s.trail.state.offNow, []);
    assert.equal(s.record('wait:long').result, 'skipped');
    assert.deepEqual(s.commands().slice(-2), ['on:skimmer', 'on:top-off']);
  });

  test('with hands in it asks for them first, and only the person at the tank can say they are out', () => {
    const s = sit(allStopped);
    const since = stoppedAt(s);
    const state = s.until('asked', heldAt('#hands-out'), 90 * 60);
    // The clock begins with the command, a little before the stop is proved.
    assert.ok(s.now() - since >= ALL_STOP.hardMs - MINUTE_MS);
    assert.match(state.prompt?.text ?? '', /Hands out of the water/);
    s.seconds(600);
    assert.deepEqual(commandTimes(s, 'on'), []);
    s.confirm(bo);
    s.seconds(30);
    assert.deepEqual(commandTimes(s, 'on'), []);
    s.confirm(ada);
    s.until('restarted', (each) => each.prompt?.step === '#resume', 300);
    assert.deepEqual(
      commandTimes(s, 'on').map(([id]) => id),
      ['flow', 'return'],
    );
  });

  test('runs on while the hub is away; the restart waits for the hub and for everything to be read again', () => {
    const s = sit(untouched);
    const since = stoppedAt(s);
    s.seconds(60);
    s.loseHub();
    s.seconds(70 * 60);
    assert.equal(s.alarms().filter((code) => code === 'all-stop').length, 3);
    assert.deepEqual(commandTimes(s, 'on'), []);
    s.hubReturns();
    const backAt = s.now();
    s.until('restarted', (state) => state.prompt?.step === '#resume', 300);
    const [first] = commandTimes(s, 'on');
    assert.ok((first?.[1] ?? 0) > backAt && (first?.[1] ?? 0) - since >= ALL_STOP.hardMs - MINUTE_MS);
  });

  test('runs on over a restart of the service', () => {
    const s = sit(untouched);
    stoppedAt(s);
    s.restart();
    s.seconds(30 * 60);
    assert.deepEqual(commandTimes(s, 'on'), []);
    s.until('restarted', (state) => state.offNow.length === 2, 40 * 60);
    assert.deepEqual(
      commandTimes(s, 'on').map(([id]) => id),
      ['flow', 'return'],
    );
  });

  test('nothing is restarted while a plug is not heard, a leak is wet or the sump is too low: it is alarmed instead', () => {
    const silent = sit(untouched, { faults: {} });
    stoppedAt(silent);
    const hidden = createSitting({
      tank: small(),
      procedure: 'pump-pause',
      answer: answers,
      replan: untouched,
      faults: { return: 'silent' },
    });
    // A silent plug holds the stop itself; from then on the all-stop clock never starts: nothing was restarted either.
    hidden.until('held', (state) => state.hold?.reason === 'unknown-reading');
    assert.deepEqual(commandTimes(hidden, 'on'), []);
    const low = sit(untouched);
    stoppedAt(low);
    low.plant.world.extraCm = -8;
    low.until('circulation is back', () => commandTimes(low, 'on').length === 1, 80 * 60);
    low.seconds(300);
    assert.deepEqual(
      commandTimes(low, 'on').map(([id]) => id),
      ['flow'],
    );
    assert.ok(
      low.words().some((text) => /return is not restarted: the sump stands at .* the return would run dry/.test(text)),
    );
  });

  test('a mover that does not start is told to start three times in all, then a person is called; the other still comes', () => {
    const faults: Record<string, 'stuck'> = {};
    const s = sit(untouched, { faults });
    stoppedAt(s);
    faults['flow'] = 'stuck';
    s.until('given up', (state) => state.prompt?.step === '#resume', 90 * 60);
    const on = commandTimes(s, 'on').map(([id]) => id);
    assert.deepEqual(on, ['flow', 'flow', 'flow', 'return']);
    assert.ok(s.words().some((text) => /flow was told to start and is not proved to run/.test(text)));
    assert.ok(s.trail.state.offNow.includes('flow'));
  });

  test('a mover started by hand ends the clock, and nothing is restarted', () => {
    const s = sit(untouched);
    stoppedAt(s);
    s.seconds(20 * 60);
    s.plant.turn('flow', true, s.now());
    s.until('told', (state) => state.hold?.reason === 'foreign-hand', 30);
    assert.ok(s.alarms().includes('foreign-hand'));
  });

  test('with one mover proved only the clocks of each equipment run', () => {
    const s = sit((plan) => ({ ...plan, lifeSupport: ['return'] }), { answer: answers });
    s.until('pause', heldAt('hands-on:pause'));
    s.loseHub();
    s.seconds(2);
    s.hubReturns();
    s.seconds(3 * 3600);
    assert.ok(s.alarms().includes('off-too-long'));
    assert.ok(!s.alarms().includes('all-stop'));
    assert.deepEqual(commandTimes(s, 'on'), []);
  });
});

describe('a rise over the learned one', () => {
  test('going home, the look that guards a start is asked for though the job is left out', () => {
    const look = stepOf('look:before', 'check', { equipment: 'skimmer', holdPoint: true, needed: 5 });
    const s = sit((plan) => before('on:skimmer', look)({ ...plan, lifeSupport: ['return'] }), {
      answer: (step) => (step === '#begin' || step.startsWith('look:') ? ada : null),
    });
    s.plant.world.riseCm = 9;
    s.until('asked', heldAt('#resume'), 3_000);
    s.seconds(3);
    s.confirm(ada);
    s.until('skimmer back', () => s.record('on:skimmer').closedAt !== null);
    assert.equal(s.record('look:before').result, 'passed');
    assert.equal(s.record('hands-on:pause').result, 'skipped');
  });

  test('ends the stop at once where the return was agreed; the session then only goes home', () => {
    const s = sit((plan) => ({ ...plan, lifeSupport: ['return'] }));
    s.plant.world.riseCm = 9;
    const state = s.until('held', (each) => each.hold?.reason === 'limit-exceeded');
    const risenAt = s.now();
    assert.match(state.hold?.text ?? '', /siphon break may be blocked\. return is restarted at once/);
    s.until('restarted', () => s.commands().includes('on:return'), 60);
    assert.ok(s.now() - risenAt <= 60_000);
    s.until('asked', heldAt('#resume'), 300);
    s.seconds(4);
    s.confirm(ada);
    s.until('home', ended);
    assert.equal(s.trail.state.status, 'complete');
    assert.deepEqual(s.trail.state.offNow, []);
  });

  test('where nothing was agreed it is said and held, and a person does it', () => {
    const s = sit((plan) => {
      const { lifeSupport: _, ...rest } = plan;
      return rest;
    });
    s.plant.world.riseCm = 9;
    s.until('held', (each) => each.hold?.reason === 'limit-exceeded');
    s.seconds(300);
    assert.ok(!s.commands().includes('on:return'));
  });
});

describe('an abort', () => {
  test('while no water moves restarts what was agreed, then ends; everything else is listed', () => {
    const s = sit(untouched);
    stoppedAt(s);
    s.seconds(60);
    s.send({ kind: 'abort', at: s.now(), actor: ada, nextNonce: s.nonce() });
    assert.equal(s.trail.state.status, 'aborting');
    s.until('aborted', ended, 600);
    assert.equal(s.trail.state.status, 'aborted');
    assert.deepEqual(
      commandTimes(s, 'on').map(([id]) => id),
      ['flow', 'return'],
    );
    assert.match(
      s.trail.state.summary,
      /Restarted as agreed: return, flow\..*Off or not proved back: top off, skimmer/,
    );
    assert.ok(s.trail.state.records.every((record) => record.result !== 'open' && record.result !== 'pending'));
  });

  test('with hands in it waits for the word that they are out', () => {
    const s = sit(allStopped);
    stoppedAt(s);
    s.until('pause', heldAt('hands-on:pause'));
    s.send({ kind: 'abort', at: s.now(), actor: bo, nextNonce: s.nonce() });
    s.seconds(300);
    assert.equal(s.trail.state.status, 'aborting');
    assert.equal(s.trail.state.prompt?.step, '#hands-out');
    assert.deepEqual(commandTimes(s, 'on'), []);
    s.confirm(ada);
    s.until('aborted', ended, 600);
  });

  test('while the circulation runs switches nothing at all', () => {
    const s = sit((plan) => ({ ...plan, lifeSupport: ['return'] }));
    s.until('pause', heldAt('hands-on:pause'));
    s.send({ kind: 'abort', at: s.now(), actor: bo, nextNonce: s.nonce() });
    s.seconds(600);
    assert.equal(s.trail.state.status, 'aborted');
    assert.deepEqual(commandTimes(s, 'on'), []);
  });
});
