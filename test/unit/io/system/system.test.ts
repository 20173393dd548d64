import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  keptLog,
  lineLog,
  realClock,
  realRandom,
  realTimers,
  scaledSystem,
  seededRandom,
  virtualSystem,
} from '../../../../src/io/system/index.ts';

describe('virtual time', () => {
  test('fires timers in order of time, then of arming, with the clock at their moment', () => {
    const system = virtualSystem(1_000_000);
    const fired: string[] = [];
    const note = (name: string) => () =>
      fired.push(`${name} ${system.clock.now() - 1_000_000} ${system.clock.monotonicMs()}`);
    system.timers.after(50, 'b', note('b'));
    system.timers.after(10, 'a', note('a'));
    system.timers.after(50, 'c', note('c'));
    const cancel = system.timers.after(20, 'never', note('never'));
    cancel();
    system.timers.after(10, 'chain', () => void system.timers.after(15, 'late', note('late')));
    system.advance(49);
    assert.deepEqual(fired, ['a 10 10', 'late 25 25']);
    assert.deepEqual(system.waiting(), [
      { name: 'b', inMs: 1 },
      { name: 'c', inMs: 1 },
    ]);
    system.advance(1);
    assert.deepEqual(fired.slice(2), ['b 50 50', 'c 50 50']);
    assert.equal(system.clock.now(), 1_000_050);
  });

  test('steps from timer to timer', () => {
    const system = virtualSystem(0);
    let ran = 0;
    system.timers.after(7_000, 'one', () => ran++);
    assert.equal(system.step(), true);
    assert.deepEqual([ran, system.clock.now(), system.step()], [1, 7_000, false]);
  });

  test('refuses to go back; the wall clock may be set, which moves no timer', () => {
    const system = virtualSystem(5_000);
    assert.throws(() => system.advance(-1), RangeError);
    assert.throws(() => system.advance(Number.NaN), RangeError);
    let ran = false;
    system.timers.after(100, 'x', () => {
      ran = true;
    });
    system.setWallClock(1_000);
    assert.deepEqual([system.clock.now(), system.clock.monotonicMs()], [1_000, 0]);
    system.advance(100);
    assert.deepEqual([system.clock.now(), ran], [1_100, true]);
  });

  test('never fires early nor out of order', () => {
    fc.assert(
      fc.property(fc.array(fc.nat(1_000)), fc.array(fc.nat(300)), (delays, hops) => {
        const system = virtualSystem(0);
        const seen: number[] = [];
        for (const delay of delays) {
          system.timers.after(delay, 't', () => {
            assert.equal(system.clock.monotonicMs(), delay);
            seen.push(delay);
          });
        }
        for (const hop of hops) system.advance(hop);
        const now = hops.reduce((a, b) => a + b, 0);
        assert.deepEqual(
          seen,
          delays.filter((delay) => hops.length > 0 && delay <= now).sort((a, b) => a - b),
        );
      }),
    );
  });
});

describe('scaled time', () => {
  test('runs a factor faster from its origin, timers with it', () => {
    const machine = virtualSystem(9_999);
    const fast = scaledSystem(machine, 60, 1_000_000);
    let ran = false;
    fast.timers.after(60_000, 'minute', () => {
      ran = true;
    });
    machine.advance(999);
    assert.equal(ran, false);
    machine.setWallClock(5);
    machine.advance(1);
    assert.deepEqual([ran, fast.clock.now(), fast.clock.monotonicMs()], [true, 1_060_000, 60_000]);
  });

  test('refuses factors that are no speed', () => {
    for (const factor of [0, -1, Number.NaN, Number.POSITIVE_INFINITY]) {
      assert.throws(() => scaledSystem(virtualSystem(0), factor), RangeError);
    }
  });
});

describe('the real machine', () => {
  test('timers fire, can be cancelled, and tell who is waiting', async () => {
    const timers = realTimers();
    const fired: string[] = [];
    const cancel = timers.after(1, 'cancelled', () => fired.push('cancelled'));
    // Longer than Node can wait in one go: it must not fire at once.
    const far = timers.after(40 * 86_400_000, 'far', () => fired.push('far'));
    cancel();
    await new Promise<void>((resolve) => {
      timers.after(5, 'near', () => {
        fired.push('near');
        resolve();
      });
      assert.deepEqual(timers.waiting(), ['far', 'near']);
    });
    assert.deepEqual(fired, ['near']);
    far();
    assert.deepEqual(timers.waiting(), []);
  });

  test('tokens are long, URL-safe and never the same', () => {
    const tokens = Array.from({ length: 1_000 }, () => realRandom.token());
    for (const token of tokens) assert.match(token, /^[\w-]{24}$/);
    assert.equal(new Set(tokens).size, 1_000);
  });

  test('the monotonic clock goes on', () => {
    const before = realClock.monotonicMs();
    assert.ok(realClock.monotonicMs() >= before);
    assert.ok(realClock.now() > Date.UTC(2025, 0, 1));
  });

  test('seeded tokens repeat with their seed and have the shape of real ones', () => {
    const list = (seed: number): string[] => {
      const random = seededRandom(seed);
      return [random.token(), random.token()];
    };
    assert.deepEqual(list(7), list(7));
    assert.notDeepEqual(list(7), list(8));
    assert.match(list(7)[0] ?? '', /^[\w-]{24}$/);
  });
});

describe('the log', () => {
  test('one line an entry, secrets hidden, information dropped when quiet', () => {
    const lines: string[] = [];
    const clock = { now: () => Date.UTC(2026, 0, 5, 10), monotonicMs: () => 0 };
    const log = lineLog(clock, { write: (line) => lines.push(line), secrets: ['s3cret', ''] });
    log.info('token s3cret\nfake error entry');
    log.error('broken\u001b[31m');
    assert.deepEqual(lines, [
      '2026-01-05T10:00:00.000Z info  token ••• ⏎ fake error entry\n',
      '2026-01-05T10:00:00.000Z error broken[31m\n',
    ]);
    const quiet: string[] = [];
    const quietLog = lineLog(clock, { write: (line) => quiet.push(line), quiet: true });
    quietLog.info('a');
    quietLog.warn('b');
    assert.deepEqual(quiet, ['2026-01-05T10:00:00.000Z warn  b\n']);
  });

  test('kept lines', () => {
    const log = keptLog();
    log.warn('x');
    assert.deepEqual(log.lines, ['warn x']);
  });
});
