import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import type { Trace } from '../trace.ts';
import { BAD } from './bad-traces.ts';
import { checkTrace, INVARIANTS, type Invariant, startJudge } from './index.ts';
import { back, down, HEADER, LEVEL, Tape, whole } from './sample.ts';

const found = (trace: Trace): string[] =>
  checkTrace(trace).violations.map(({ invariant, text }) => `${invariant}: ${text}`);

const broken = (trace: Trace): Invariant[] => [
  ...new Set(checkTrace(trace).violations.map(({ invariant }) => invariant)),
];

const GOOD: Readonly<Record<string, () => Tape>> = {
  'a pump service from end to end': whole,
  'an abort that leaves everything off and listed': () =>
    down(new Tape()).unplug('return').person('aborts').end('aborted', ['topoff', 'skimmer', 'heater', 'return']),
  'a hub loss with everything read again and a person’s word': () => {
    const tape = down(new Tape()).unplug('return').work('return').plugIn('return');
    tape.add({ kind: 'link', at: tape.at, state: 'lost' }).silence(400);
    tape.add({ kind: 'link', at: tape.at, state: 'back' }).wait(1);
    const nonce = tape.ask('resume', 'resume');
    return back(tape.wait(10).answer(nonce, 'resume', 'resumes')).end('complete');
  },
  'a crash after which the agreed return restarts by itself': () => {
    const tape = down(new Tape(), ['return']);
    tape.add({ kind: 'service', at: tape.at, state: 'down' }).silence(30);
    tape.add({ kind: 'service', at: tape.at, state: 'up' }).wait(2);
    tape.command('return', 'on', 'all-stop').wait(30).wait(30);
    const nonce = tape.ask('resume', 'resume');
    tape.wait(60).wait(60).answer(nonce, 'resume', 'resumes');
    return tape.start('heater').start('skimmer').wait(60).start('topoff').end('complete');
  },
  'a claimed pump that another hand turns on, with the alarm in time': () => {
    const tape = down(new Tape())
      .unplug('return')
      .foreign('return', true)
      .wait(1)
      .silence(1)
      .alarm('foreign-on', 'return');
    tape.wait(20).foreign('return', false).wait(5);
    return back(tape.work('return').plugIn('return')).end('complete');
  },
  'an old report of a claimed pump that comes late': () => {
    const tape = down(new Tape()).unplug('return').wait(5);
    const spoke = tape.at;
    tape.foreign('return', true).silence(1).foreign('return', false).wait(5);
    tape.reading('switch.return', 1, { about: 'relay', equipment: 'return', reportedAt: spoke + 1 });
    return back(tape.wait(30).work('return').plugIn('return')).end('complete');
  },
  'a rise over the learned one that brings the return back': () => {
    const tape = down(new Tape());
    tape.level(29.5).wait(5).wait(5).wait(5);
    tape.command('return', 'on').wait(5).alarm('rise').wait(55).wait(60).wait(60);
    return tape.start('heater').start('skimmer').start('topoff').end('stopped');
  },
  'every mover stopped under the clock, and back before its hard limit': () => {
    const header = { ...HEADER, allStop: { warnMs: 900_000, alarmMs: 1_800_000, hardMs: 3_600_000 } };
    const tape = down(new Tape(header)).command('circulation', 'off').wait(5).wait(5).wait(5).wait(300);
    tape.command('circulation', 'on').wait(60);
    return back(tape).end('complete');
  },
  'a long hub loss answered, then a short one that asks for no second word': () => {
    const tape = down(new Tape()).unplug('return').work('return').plugIn('return');
    tape.add({ kind: 'link', at: tape.at, state: 'lost' }).silence(400);
    tape.add({ kind: 'link', at: tape.at, state: 'back' }).wait(1);
    const nonce = tape.ask('resume', 'resume');
    tape.wait(10).answer(nonce, 'resume', 'resumes').wait(30);
    tape.add({ kind: 'link', at: tape.at, state: 'lost' }).silence(20);
    tape.add({ kind: 'link', at: tape.at, state: 'back' }).wait(5);
    return back(tape).end('complete');
  },
  'one bubble on the level sensor': () => {
    const tape = down(new Tape());
    tape.reading(LEVEL, 29.9, { about: 'level' }).wait(60).wait(60).wait(60);
    return back(tape).end('complete');
  },
};

describe('a sound session is left alone', () => {
  for (const [name, make] of Object.entries(GOOD)) test(name, () => assert.deepEqual(found(make().trace()), []));
});

test('every invariant is armed by the sound sessions, and only by what happened in them', () => {
  const sum = Object.fromEntries(INVARIANTS.map((invariant) => [invariant, 0]));
  for (const make of Object.values(GOOD)) {
    const { armed } = checkTrace(make().trace());
    for (const invariant of INVARIANTS) sum[invariant] = (sum[invariant] ?? 0) + armed[invariant];
  }
  for (const invariant of INVARIANTS) assert.ok((sum[invariant] ?? 0) > 0, `${invariant} was never armed`);
  const { armed } = checkTrace(whole().trace());
  assert.deepEqual([armed.I7, armed.I10], [0, 0], 'no loss and no abort: no occasion');
  assert.deepEqual([armed.I3, armed.I6], [1, 1], 'one heater on, one stop of the return');
  assert.deepEqual(checkTrace({ header: HEADER, entries: [] }).armed, {
    I1: 0,
    I2: 0,
    I3: 0,
    I4: 0,
    I5: 0,
    I6: 0,
    I7: 0,
    I8: 0,
    I9: 0,
    I10: 0,
  });
});

describe('each bad trace breaks one invariant and no other', () => {
  for (const [invariant, name, make] of BAD)
    test(`${invariant}: ${name}`, () => {
      const trace = make().trace();
      assert.deepEqual(broken(trace), [invariant], found(trace).join('\n'));
    });

  test('all ten are broken by some trace', () => {
    assert.deepEqual([...new Set(BAD.map(([invariant]) => invariant))], [...INVARIANTS]);
  });
});

test('a judge that parts from another in the middle comes to the same verdict, and leaves that one alone', () => {
  for (const [, , make] of BAD) {
    const { header, entries } = make().trace();
    const first = startJudge(header);
    const half = Math.floor(entries.length / 2);
    for (const entry of entries.slice(0, half)) first.see(entry);
    const second = first.branch();
    for (const entry of entries.slice(half)) second.see(entry);
    const verdict = second.finish();
    for (const entry of entries.slice(half)) first.see(entry);
    assert.deepEqual(verdict, checkTrace({ header, entries }));
    assert.deepEqual(first.finish(), verdict);
  }
});
