import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  type AcclimationState,
  acclimationStep,
  NO_PROGRAMMES,
  restoredProgrammes,
} from '../../../../src/procedure/acclimation/index.ts';
import { CTX, createWorld, DAY, dayAt, HOUR, HOURS, LAMP, MINUTE, SWITCH, T0, type World } from './world.ts';

/** What may go wrong or come between, when, and for how long. */
type Trouble = { readonly what: (typeof WHAT)[number]; readonly at: number; readonly forMs: number };
const WHAT = ['hub away', 'service killed', 'plug deaf', 'session', 'claim', 'skew', 'restart'] as const;
const HANDS = ['hand off', 'hand on', 'driver by hand', 'mains lost'] as const;

const troubles = (names: readonly string[]): fc.Arbitrary<readonly Trouble[]> =>
  fc.array(
    fc.record({
      what: fc.constantFrom(...names) as fc.Arbitrary<Trouble['what']>,
      at: fc.integer({ min: 23 * 60, max: 9 * 24 * 60 }).map((minutes) => T0 + minutes * MINUTE),
      forMs: fc.constantFrom(2 * MINUTE, 20 * MINUTE, 3 * HOUR, 20 * HOUR),
    }),
    { maxLength: 8 },
  );

function begin(w: World, what: string): void {
  if (what === 'hub away') w.link(false);
  else if (what === 'service killed') w.kill();
  else if (what === 'plug deaf') w.deaf = true;
  else if (what === 'skew') w.give({ kind: 'skew', at: w.at, skewed: true });
  else if (what === 'restart') {
    w.kill();
    w.revive();
  } else if (what === 'hand off') w.relay = 0;
  else if (what === 'hand on') w.relay = 1;
  else if (what === 'driver by hand') w.driverOn = true;
  else if (what === 'mains lost') {
    w.deaf = true;
    w.relay = 0;
  } else {
    w.hold(what);
    // A session takes the driver over and has the lamp off; a claim changes nothing.
    if (what === 'session') w.driverOn = false;
  }
}

function end(w: World, what: string): void {
  if (what === 'hub away') w.link(true);
  else if (what === 'service killed') w.revive();
  else if (what === 'plug deaf' || what === 'mains lost') w.deaf = false;
  else if (what === 'skew') w.give({ kind: 'skew', at: w.at, skewed: false });
  else if (what === 'session' || what === 'claim') {
    if (what === 'session') w.driverOn = true;
    w.hold(null);
  }
}

/** Lives through them; `look` is called every minute. What overlaps with itself is left out. */
function live(list: readonly Trouble[], look: (w: World, isCalm: boolean) => void, until = dayAt(14, 0)): World {
  const w = createWorld();
  w.until(dayAt(0, 22));
  w.start();
  const open = new Map<string, number>();
  let calmSince = w.at;
  const waiting = [...list].sort((a, b) => a.at - b.at);
  while (w.at < until) {
    w.step();
    for (const [what, to] of open)
      if (w.at >= to) {
        open.delete(what);
        end(w, what);
        calmSince = w.at;
      }
    while (waiting[0] !== undefined && waiting[0].at <= w.at) {
      const next = waiting.shift();
      if (next === undefined || open.has(next.what) || (open.size > 0 && next.what === 'restart')) continue;
      if ((next.what === 'session' && open.has('claim')) || (next.what === 'claim' && open.has('session'))) continue;
      begin(w, next.what);
      if (next.what !== 'restart') open.set(next.what, w.at + next.forMs);
      calmSince = w.at;
    }
    // After trouble there are the pace of asking, two tries and the grace for a session's last words.
    look(w, open.size === 0 && w.at - calmSince > 15 * MINUTE);
  }
  return w;
}

const isOver = (w: World): boolean => w.programme()?.status === 'over';
const ofDay = (at: number): number => (((at - T0) % DAY) + DAY) % DAY;
const dayOf = (at: number): number => Math.floor((at - T0 - 4.5 * HOUR) / DAY);
const outAt = (at: number): number =>
  dayAt(dayOf(at), 12) + Math.round(Math.min(1, 0.6 + 0.05 * dayOf(at)) * HOURS.litMs);

describe('whatever fails or comes between', () => {
  test('it is never told on while held, unheard, in doubt of the time, or outside the share of the day', () => {
    fc.assert(
      fc.property(troubles([...WHAT, ...HANDS]), (list) => {
        const w = live(list, () => {}, dayAt(11, 0));
        for (const { at, effect, state } of w.sent) {
          if (effect.kind === 'driver' && effect.turn === 'resume') assert.equal(state.held[LAMP], undefined);
          if (effect.kind !== 'switch' || effect.turn !== 'on') continue;
          assert.equal(state.held[LAMP], undefined, 'held');
          assert.ok(state.hubUp && !state.skewed, 'hub');
          assert.ok(at >= dayAt(dayOf(at), 12) && at < outAt(at), `outside the share: ${new Date(at).toISOString()}`);
          const relay = state.readings[SWITCH];
          assert.ok(relay !== undefined && relay.value === 0 && at - relay.reportedAt <= 2 * MINUTE, 'unheard');
        }
      }),
      { numRuns: 15 },
    );
  });

  test('without other hands the lamp is dark outside the share of its day, but for what nobody could send', () => {
    fc.assert(
      fc.property(troubles(WHAT), (list) => {
        live(list, (w, isCalm) => {
          if (!isCalm || isOver(w) || w.programme()?.status !== 'running') return;
          const late = ofDay(w.at) < 12 * HOUR || w.at > outAt(w.at) + 2 * MINUTE;
          assert.ok(!(late && w.relay === 1), `lit at ${new Date(w.at).toISOString()}`);
        });
      }),
      { numRuns: 15 },
    );
  });

  test('on an undisturbed day it is lit for the share, and never a look longer', () => {
    fc.assert(
      fc.property(troubles(['restart']), (list) => {
        const w = live(list, () => {}, dayAt(8, 0));
        for (let day = 1; day < 8; day++) {
          const litMs = w.lit.get(Math.floor(T0 / DAY) + day) ?? 0;
          const shareMs = (0.6 + 0.05 * day) * HOURS.litMs;
          assert.ok(litMs <= shareMs + MINUTE && litMs >= shareMs - 10 * MINUTE, `day ${day}: ${litMs / HOUR} h`);
        }
      }),
      { numRuns: 8 },
    );
  });

  test('no burst: of one day at most two times on, and off at most twice for each time something had come between', () => {
    fc.assert(
      fc.property(troubles([...WHAT, ...HANDS]), (list) => {
        const w = live(list, () => {}, dayAt(11, 0));
        const on = new Map<number, number>();
        const off = new Map<number, number>();
        for (const { at, kind, turn } of w.commands()) {
          if (kind !== 'switch') continue;
          const counts = turn === 'on' ? on : off;
          counts.set(dayOf(at), (counts.get(dayOf(at)) ?? 0) + 1);
        }
        for (const [day, count] of on) assert.ok(count <= 2, `day ${day}: on ${count} times`);
        for (const [day, count] of off) {
          const between = list.filter(({ at, forMs }) => dayOf(at) === day || dayOf(at + forMs) === day).length;
          assert.ok(count <= 4 + 2 * between, `day ${day}: off ${count} times`);
        }
      }),
      { numRuns: 15 },
    );
  });

  test('in the end the driver has the lamp, given back by one word at most', () => {
    fc.assert(
      fc.property(troubles([...WHAT, ...HANDS]), (list) => {
        const w = live(list, () => {});
        assert.equal(w.programme()?.status, 'over');
        assert.equal(w.driverOn, true);
        const back = w.commands().filter(({ kind, turn }) => kind === 'driver' && turn === 'resume');
        assert.ok(back.length <= 1, `${back.length} times`);
      }),
      { numRuns: 15 },
    );
  });

  test('what is kept is what was lived, at every moment; told again it is the same', () => {
    fc.assert(
      fc.property(troubles(WHAT.filter((what) => what !== 'service killed' && what !== 'restart')), (list) => {
        const w = live(
          list,
          (now) => {
            const kept = [...now.kept.values()].map((text) => JSON.parse(text));
            assert.deepEqual(restoredProgrammes(kept, now.at).programmes[LAMP], now.programme());
          },
          dayAt(3, 0),
        );
        const again = w.inputs.reduce<AcclimationState>((state, input) => acclimationStep(state, input, CTX)[0], {
          ...NO_PROGRAMMES,
          at: T0,
        });
        assert.deepEqual(again, w.state());
      }),
      { numRuns: 8 },
    );
  });
});
