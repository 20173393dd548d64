import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  recalled,
  replay,
  type SessionEffect,
  type SessionState,
  type SwitchCommand,
} from '../../../src/procedure/index.ts';
import { type Happening, happening } from './happenings.ts';
import { ada, bo, createSitting, ended, type Fault, machine, type Passage } from './plant.ts';
import { small } from './tanks.ts';

/** Enough for every kind of ending to come up many times over; `SLACKWATER_RUNS` asks for more. */
const RUNS = Number(process.env['SLACKWATER_RUNS'] ?? 150);

const actors = { ada, bo, machine, unknown: { kind: 'unknown', via: 'hub' } } as const;

type Sitting = ReturnType<typeof createSitting>;

const MOVERS = ['return', 'flow'];
const isAgreed = (command: SwitchCommand, state: SessionState): boolean =>
  command.step === `#life-support:${command.equipment}` &&
  (state.plan.lifeSupport ?? []).includes(command.equipment) &&
  !state.claims.some((claim) => claim.equipment === command.equipment);
const isOffAgain = (command: SwitchCommand): boolean =>
  command.step === `#off-again:${command.equipment}` && command.turn === 'off';

/** One rule that must hold at every event; made anew for each life, so that it may remember. */
type Watcher = (passage: Passage, s: Sitting) => void;

const commandsOf = (effects: readonly SessionEffect[]): readonly SwitchCommand[] =>
  effects.flatMap((each) => (each.kind === 'command' ? [each.command] : []));
const taken = ({ before, after }: Passage): boolean => after.usedNonces.length > before.usedNonces.length;

const WATCHERS: Readonly<Record<string, () => Watcher>> = {
  'nothing claimed is ever switched on by us':
    () =>
    ({ before, after, effects }) => {
      for (const command of commandsOf(effects)) {
        const claimed = [...before.claims, ...after.claims].some((claim) => claim.equipment === command.equipment);
        assert.ok(!(command.turn === 'on' && claimed));
      }
    },

  'no switch-off passes without the plug reading off after its last command, freshly': () => {
    const sentAt = new Map<string, number>();
    return ({ before, event, after, effects }, s) => {
      // A clock that was set takes what was noted by it along.
      if (event.kind === 'clock-jumped') for (const [step, at] of sentAt) sentAt.set(step, at + event.byMs);
      after.records.forEach((record, i) => {
        const step = after.plan.steps[i];
        if (step?.action !== 'switch-off' || before.records[i]?.closedAt !== null || record.closedAt === null) return;
        if (!record.result.startsWith('passed')) return;
        const facts = s.ctx.equipment[step.equipment ?? ''];
        const relay = after.readings[facts?.switchEntity ?? ''];
        assert.equal(relay?.value, 0);
        assert.ok(relay.reportedAt > (sentAt.get(step.id) ?? Number.POSITIVE_INFINITY));
        assert.ok(record.closedAt - relay.reportedAt <= 120_000);
        if (record.result !== 'passed') return;
        const power = after.readings[facts?.powerEntity ?? ''];
        assert.ok(power !== undefined && power.value !== null && power.value <= 2);
        assert.ok(power.reportedAt >= (sentAt.get(step.id) ?? 0) + 10_000);
      });
      for (const command of commandsOf(effects)) sentAt.set(command.step, event.at);
    };
  },

  'an answer within 2 s, with a wrong nonce or for another step is not taken': () => (passage) => {
    const { before, event, after } = passage;
    if (event.kind !== 'confirmed') return;
    const { confirmation } = event;
    const { prompt } = before;
    const good =
      prompt !== null &&
      prompt.nonce === confirmation.nonce &&
      prompt.step === confirmation.step &&
      confirmation.at - prompt.appearedAt >= 2000;
    if (!good) assert.ok(!taken(passage));
    if (!good) assert.deepEqual(after.claims, before.claims);
  },

  'only a person’s answer places a claim, only its own person’s releases it':
    () =>
    ({ before, event, after }) => {
      if (before.claims.length === after.claims.length) return;
      assert.ok(event.kind === 'confirmed' && event.confirmation.actor.kind === 'person');
      const gone = before.claims.find((claim) => !after.claims.includes(claim));
      if (gone) assert.equal(gone.person, event.confirmation.actor.name);
    },

  'an abort switches nothing, then or later':
    () =>
    ({ after, effects }) => {
      if (after.status === 'aborted') assert.deepEqual(commandsOf(effects), []);
      if (after.status !== 'aborting') return;
      for (const command of commandsOf(effects)) assert.ok(isAgreed(command, after) && command.turn === 'on');
    },

  'nothing is energised outside the plan’s order but what was agreed, and that only with no claim on it and nobody’s hands in':
    () =>
    ({ before, after, effects }) => {
      for (const command of commandsOf(effects)) {
        if (!command.step.startsWith('#')) continue;
        if (command.turn === 'off') {
          assert.ok(command.step.startsWith('#off-again:'));
          continue;
        }
        assert.ok(isAgreed(command, after), command.step);
        const open = before.plan.steps[before.stepIndex];
        const works = open?.action === 'hands-on' || open?.action === 'unplug' || open?.action === 'plug-in';
        assert.ok(!works || typeof recalled(after.memory, 's.handsOut') === 'number');
      }
    },

  'the last water mover that is proved to run is never told off': () => (passage, s) => {
    for (const command of commandsOf(passage.effects)) {
      if (command.turn !== 'off' || !MOVERS.includes(command.equipment)) continue;
      // What reads off and draws nothing does not stop by being told so.
      const facts = s.ctx.equipment[command.equipment];
      const [relay, drawn] = [facts?.switchEntity, facts?.powerEntity].map((id) => passage.after.readings[id ?? '']);
      if (relay?.value === 0 && (drawn?.value ?? 99) <= 2) continue;
      const others = MOVERS.filter((id) => id !== command.equipment && !passage.before.offNow.includes(id));
      const power = others.map((id) => passage.after.readings[s.ctx.equipment[id]?.powerEntity ?? '']);
      assert.ok(power.some((reading) => (reading?.value ?? 0) > 5 && s.now() - (reading?.reportedAt ?? 0) <= 120_000));
    }
  },

  'a nonce is taken once, and every question has one of its own': () => {
    const shown = new Map<string, string>();
    return ({ after }) => {
      assert.equal(new Set(after.usedNonces).size, after.usedNonces.length);
      if (!after.prompt) return;
      assert.ok(!after.usedNonces.includes(after.prompt.nonce));
      const words = `${after.prompt.step} ${after.prompt.text}`;
      assert.equal(shown.get(after.prompt.nonce) ?? words, words);
      shown.set(after.prompt.nonce, words);
    };
  },

  'what is held says why, and asks as soon as it can be answered':
    () =>
    ({ event, after }) => {
      if (after.status !== 'held') return;
      assert.ok(after.hold !== null && after.hold.text.length > 10);
      const unreachable =
        typeof recalled(after.memory, 'hub.lostAt') === 'number' ||
        typeof recalled(after.memory, 'skewed') === 'number';
      const restarts = typeof recalled(after.memory, 'ls.on') === 'string';
      if (!unreachable && !restarts && 'nextNonce' in event) assert.ok(after.prompt !== null);
    },

  'with clocks that disagree nothing is switched but off again, and nothing can be answered':
    () =>
    ({ after, effects }) => {
      if (typeof recalled(after.memory, 'skewed') !== 'number' || ended(after) || after.status === 'idle') return;
      // Off to an adder or heater that other hands switched on harms nothing, whatever the clocks say.
      for (const command of commandsOf(effects)) assert.ok(isOffAgain(command));
      assert.equal(after.prompt, null);
    },

  'after a restart nothing is switched before a person’s word': () => {
    let waiting = false;
    return (passage) => {
      if (passage.event.kind === 'service-restarted') waiting = true;
      else if (taken(passage)) waiting = false;
      if (!waiting) return;
      for (const command of commandsOf(passage.effects))
        assert.ok(isAgreed(command, passage.after) || isOffAgain(command));
    };
  },

  'with the hub away nothing is switched and nothing can be answered':
    () =>
    ({ after, effects }) => {
      if (typeof recalled(after.memory, 'hub.lostAt') !== 'number') return;
      assert.deepEqual(commandsOf(effects), []);
      if (!ended(after)) assert.equal(after.prompt, null);
    },

  'after a gap nothing is switched on while what is kept off has not been heard again': () => {
    let gapAt = Number.NEGATIVE_INFINITY;
    let lost = false;
    return ({ event, after, effects }, s) => {
      if (event.kind === 'clock-jumped') gapAt += event.byMs;
      if (event.kind === 'hub-lost') lost = true;
      if ((event.kind === 'hub-back' && lost) || event.kind === 'service-restarted') gapAt = event.at;
      if (event.kind === 'hub-back') lost = false;
      if (!commandsOf(effects).some((command) => command.turn === 'on')) return;
      for (const id of after.offNow) {
        const relay = after.readings[s.ctx.equipment[id]?.switchEntity ?? ''];
        assert.ok(relay !== undefined && relay.reportedAt >= gapAt, id);
      }
    };
  },

  '"may be unplugged" is only said of what reads off and dead, freshly, after its own proof': () => {
    return ({ event, after }, s) => {
      if (!after.prompt?.text.includes('may be unplugged')) return;
      const id = after.prompt.step.slice('unplug:'.length);
      const facts = s.ctx.equipment[id];
      for (const [entity, most] of [
        [facts?.switchEntity, 0],
        [facts?.powerEntity, 2],
      ] as const) {
        const reading = after.readings[entity ?? ''];
        assert.ok(reading !== undefined && reading.value !== null && reading.value <= most);
        assert.ok(event.at - reading.reportedAt <= 120_000);
      }
      assert.ok((after.records.find((record) => record.id === `off:${id}`)?.evidence ?? 0) >= 3);
    };
  },

  'an adder is never switched on while the return or the skimmer is off':
    () =>
    ({ before, effects }) => {
      for (const command of commandsOf(effects)) {
        if (command.turn !== 'on' || command.equipment !== 'top-off') continue;
        assert.ok(!before.offNow.includes('return') && !before.offNow.includes('skimmer'));
      }
    },

  'steps are only ever closed in the plan’s order':
    () =>
    ({ before, after }) => {
      assert.ok(after.stepIndex >= before.stepIndex);
      if (ended(after)) return;
      after.records.forEach((record, i) => {
        assert.equal(record.closedAt !== null, i < after.stepIndex, record.id);
      });
    },

  'complete means everything is back or was left off, and nothing is claimed':
    () =>
    ({ after }) => {
      if (after.status !== 'complete') return;
      assert.deepEqual(after.offNow, []);
      assert.deepEqual(after.claims, []);
      for (const record of after.records) assert.ok(['passed', 'passed-unproven', 'skipped'].includes(record.result));
    },
};

/** Lives through it all under every watcher; the person answers by herself for as long as she attends. */
function live(procedure: string, all: readonly Happening[], attends: boolean): Sitting {
  const faults: Record<string, Fault> = {};
  const watchers = Object.entries(WATCHERS).map(([name, make]) => ({ name, watch: make() }));
  const attention = { attends };
  const s: Sitting = createSitting({
    tank: small(),
    procedure,
    faults,
    answer: () => (attention.attends ? ada : null),
    observe: (passage) => {
      for (const { name, watch } of watchers) {
        try {
          watch(passage, s);
        } catch (error) {
          throw new Error(`${name}, at ${JSON.stringify(passage.event)}`, { cause: error });
        }
      }
    },
  });
  for (const each of all) happen(s, each, faults, attention);
  return s;
}

function happen(s: Sitting, each: Happening, faults: Record<string, Fault>, attention: { attends: boolean }): void {
  switch (each.kind) {
    case 'pass':
      s.seconds(each.seconds);
      return;
    case 'attend':
      attention.attends = each.attends;
      return;
    case 'answer': {
      const wrong = each.how === 'wrong-nonce' ? { nonce: 'x' } : each.how === 'wrong-step' ? { step: 'x' } : {};
      s.confirm(actors[each.who], wrong);
      return;
    }
    case 'lose-hub':
      s.loseHub();
      return;
    case 'hub-back':
      s.hubReturns();
      return;
    case 'restart':
      s.restart();
      return;
    case 'abort':
      s.send({ kind: 'abort', at: s.now(), actor: bo, nextNonce: s.nonce() });
      return;
    case 'clock':
      s.jumpClock(each.byMs);
      return;
    case 'skew':
      s.send({ kind: 'clock-skew', at: s.now(), skewMs: each.ms, nextNonce: s.nonce() });
      return;
    case 'unplug':
    case 'plug':
      s.plant.plug(each.equipment).unplugged = each.kind === 'unplug';
      return;
    case 'other-hand':
      s.plant.turn(each.equipment, each.on, s.now());
      return;
    case 'fault':
      if (each.fault === 'none') delete faults[each.equipment];
      else faults[each.equipment] = each.fault;
      return;
    case 'gap': {
      const reading = { entity: each.entity, value: null, changedAt: s.now(), reportedAt: s.now() };
      s.send({ kind: 'readings', at: s.now(), readings: [reading], nextNonce: s.nonce() });
      return;
    }
    case 'stale':
      s.send({ kind: 'readings', at: s.now(), readings: s.plant.read(s.now() - each.ageMs), nextNonce: s.nonce() });
      return;
    case 'water':
      s.plant.world.extraCm = each.cm;
  }
}

describe('whatever happens to a session', () => {
  test('every watcher holds at every event, and its events alone give its state again', () => {
    const reached = { claims: 0, complete: 0, aborted: 0, alarmed: 0, mayUnplug: 0 };
    fc.assert(
      fc.property(
        fc.constantFrom('skimmer-service', 'skimmer-service', 'pump-pause'),
        fc.array(happening, { minLength: 4, maxLength: 40 }),
        fc.boolean(),
        (procedure, all, attends) => {
          const s = live(
            procedure,
            [{ kind: 'pass', seconds: 3 }, { kind: 'answer', who: 'ada', how: 'right' }, ...all],
            attends,
          );
          const { state } = s.trail;
          assert.deepEqual(replay(s.trail.events, s.ctx), state);
          assert.deepEqual(JSON.parse(JSON.stringify(state)), state);
          if (state.records.some((record) => record.id.startsWith('unplug') && record.result === 'passed'))
            reached.claims++;
          if (state.status === 'complete') reached.complete++;
          if (state.status === 'aborted') reached.aborted++;
          if (s.trail.effects.some(({ effect }) => effect.kind === 'alarm')) reached.alarmed++;
          if (s.trail.prompts.some((text) => text.includes('may be unplugged'))) reached.mayUnplug++;
        },
      ),
      { numRuns: RUNS },
    );
    // The lives must get somewhere, or the checks above would have seen nothing.
    for (const [what, count] of Object.entries(reached)) assert.ok(count > 0, `no life reached: ${what}`);
  });
});
