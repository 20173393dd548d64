import type { Actor, EntityId, EquipmentId, Tank } from '../../../src/model/index.ts';
import type { Reading } from '../../../src/observe/index.ts';
import {
  advance,
  begin,
  buildPlan,
  type CommandOutcome,
  type Confirmation,
  type EngineContext,
  engineContext,
  type SessionEffect,
  type SessionEvent,
  type SessionPlan,
  type SessionState,
  type SwitchCommand,
} from '../../../src/procedure/index.ts';

/** How a plug of the toy plant misbehaves. */
export type Fault =
  | 'welded' // says off, keeps drawing
  | 'stuck' // does not obey at all
  | 'silent' // obeys, never reports again
  | 'not-turning'; // on again, but only hums

export const ada: Actor = { kind: 'person', name: 'Ada', via: 'simulated' };
export const bo: Actor = { kind: 'person', name: 'Bo', via: 'simulated' };
export const machine: Actor = { kind: 'machine', name: 'flow' };

type Plug = { relay: boolean; changedAt: number; unplugged: boolean; calling: boolean };

/** A toy plant: plugs, watts, and a sump that rises when no return runs. Enough to see whether the engine believes it. */
export function createPlant(
  tank: Tank,
  faults: Readonly<Record<EquipmentId, Fault>>,
  startOff: readonly EquipmentId[],
  hides: readonly EntityId[] = [],
) {
  const plugs = new Map<EquipmentId, Plug>(
    tank.equipment.map((each) => [
      each.id,
      { relay: !startOff.includes(each.id), changedAt: 0, unplugged: false, calling: false },
    ]),
  );
  const world = { level: 20, extraCm: 0, riseCm: 4.8, probeGapC: 0, drivers: new Map<EntityId, boolean>() };
  const plug = (id: EquipmentId): Plug => {
    const found = plugs.get(id);
    if (!found) throw new Error(`no plug ${id}`);
    return found;
  };
  const watts = (id: EquipmentId): number => {
    const each = tank.equipment.find((one) => one.id === id);
    const { relay, unplugged, calling } = plug(id);
    const normal = each?.normalPowerW ?? 0;
    if (unplugged) return 0;
    if (faults[id] === 'welded') return normal;
    if (!relay) return 0.3;
    if (each?.cycling) return calling ? normal : 0;
    return faults[id] === 'not-turning' && plug(id).changedAt > 0 ? 3 : normal;
  };
  return {
    world,
    plug,
    turn(id: EquipmentId, on: boolean, at: number): void {
      if (faults[id] === 'stuck') return;
      const each = plug(id);
      if (each.relay !== on) each.changedAt = at;
      each.relay = on;
    },
    step(seconds: number): void {
      const returns = tank.equipment.filter((each) => each.role === 'return-pump');
      const running = returns.some((each) => watts(each.id) > 5);
      const target = 20 + world.extraCm + (running || returns.length === 0 ? 0 : world.riseCm);
      world.level += (target - world.level) * (1 - Math.exp(-seconds / 20));
    },
    read(at: number, wanted?: ReadonlySet<EntityId>): Reading[] {
      const all: Reading[] = [];
      const add = (entity: EntityId | undefined, value: number, changedAt: number): void => {
        if (entity !== undefined && !hides.includes(entity) && (!wanted || wanted.has(entity))) {
          all.push({ entity, value, changedAt, reportedAt: at });
        }
      };
      for (const each of tank.equipment) {
        const { relay, changedAt } = plug(each.id);
        if (faults[each.id] === 'silent' && changedAt > 0) continue;
        add(each.switchEntity, relay ? 1 : 0, changedAt);
        add(each.powerEntity, watts(each.id), at);
        const driver =
          each.driver.kind === 'schedule' || each.driver.kind === 'thermostat' ? each.driver.entity : undefined;
        add(driver, driver !== undefined && world.drivers.get(driver) === false ? 0 : 1, at);
      }
      for (const each of tank.sensors) {
        if (each.kind === 'sump-level') add(each.entity, Math.round(world.level * 10) / 10, at);
        else if (each.kind === 'sump-temperature') add(each.entity, 25.4 + world.probeGapC, at);
        else if (each.kind.endsWith('temperature')) add(each.entity, 25.4, at);
        else add(each.entity, 0, 0);
      }
      return all;
    },
  };
}

export type Trail = {
  readonly ctx: EngineContext;
  readonly events: SessionEvent[];
  readonly effects: { readonly at: number; readonly effect: SessionEffect; readonly before: SessionState }[];
  /** Everything a person was asked, once each. */
  readonly prompts: string[];
  state: SessionState;
};

export type Sitting = {
  readonly tank: Tank;
  readonly procedure: string;
  readonly faults?: Readonly<Record<EquipmentId, Fault>>;
  readonly startOff?: readonly EquipmentId[];
  readonly deputies?: Readonly<Record<string, string>>;
  /** Entities that never report. */
  readonly hides?: readonly EntityId[];
  readonly timeFactor?: number;
  /** Changes the plan the builder made: steps and settings it does not give this tank. */
  readonly replan?: (plan: SessionPlan) => SessionPlan;
  /** What a person types where a value is asked. */
  readonly type?: (step: string, state: SessionState) => number | undefined;
  /** How commands end; the default is `confirmed`. */
  readonly outcome?: (command: SwitchCommand) => CommandOutcome;
  /** Who answers what; null = nobody. The default is Ada, for everything but a resume. */
  readonly answer?: (step: string, state: SessionState) => Actor | null;
  /** Sees every event with the state before and after it. */
  readonly observe?: (passage: Passage) => void;
};

/** One event: what was, what came, what is, and what it asks for. */
export type Passage = {
  readonly before: SessionState;
  readonly event: SessionEvent;
  readonly after: SessionState;
  readonly effects: readonly SessionEffect[];
};

const NOON = Date.UTC(2026, 2, 2, 12);

/** Sits through a session second by second: commands reach the plant, devices report every 10 s and when asked. */
export function createSitting(sitting: Sitting) {
  const { tank } = sitting;
  const ctx = engineContext(tank, {}, sitting.deputies ?? {}, sitting.timeFactor ?? 1);
  const plant = createPlant(tank, sitting.faults ?? {}, sitting.startOff ?? [], sitting.hides ?? []);
  const answer = sitting.answer ?? ((step: string) => (step === '#resume' ? null : ada));
  let at = NOON;
  let serial = 0;
  let hubUp = true;
  let pending: SessionEvent[] = [];
  const nonce = (): string => `n${serial++}`;
  const started: SessionEvent = {
    kind: 'started',
    at,
    actor: ada,
    session: 's1',
    plan: (sitting.replan ?? ((plan) => plan))(buildPlan(sitting.procedure, tank)),
    nonce: nonce(),
  };
  const [first] = begin(started, ctx);
  const trail: Trail = { ctx, events: [started], effects: [], prompts: [], state: first };

  const send = (event: SessionEvent): void => {
    const before = trail.state;
    const [state, effects] = advance(before, event, ctx);
    trail.events.push(event);
    trail.state = state;
    if (state.prompt && state.prompt.nonce !== before.prompt?.nonce) trail.prompts.push(state.prompt.text);
    sitting.observe?.({ before, event, after: state, effects });
    for (const effect of effects) {
      trail.effects.push({ at, effect, before });
      perform(effect);
    }
  };
  const perform = (effect: SessionEffect): void => {
    if (effect.kind === 'command') {
      plant.turn(effect.command.equipment, effect.command.turn === 'on', at);
      pending.push({
        kind: 'command-ended',
        at,
        command: effect.command,
        outcome: sitting.outcome?.(effect.command) ?? 'confirmed',
        detail: '',
      });
    } else if (effect.kind === 'driver') {
      plant.world.drivers.set(effect.entity, effect.turn === 'resume');
    } else if (effect.kind === 'refresh') {
      const wanted = new Set(effect.entities);
      pending.push({ kind: 'readings', at, readings: plant.read(at, wanted), nextNonce: nonce() });
    }
  };
  const confirm = (actor: Actor, more: Partial<Confirmation> = {}): void => {
    const prompt = trail.state.prompt;
    const confirmation: Confirmation = {
      session: 's1',
      step: prompt?.step ?? '',
      nonce: prompt?.nonce ?? '',
      actor,
      at,
      ...more,
    };
    send({ kind: 'confirmed', at, confirmation, nextNonce: nonce() });
  };
  const second = (): void => {
    at += 1000;
    plant.step(1);
    const due = pending;
    pending = [];
    if (hubUp)
      for (const event of due)
        send(
          event.kind === 'readings'
            ? { ...event, at, readings: event.readings.map((r) => ({ ...r, reportedAt: at })) }
            : { ...event, at },
        );
    if (hubUp && (at / 1000) % 10 === 0) send({ kind: 'readings', at, readings: plant.read(at), nextNonce: nonce() });
    send({ kind: 'tick', at, nextNonce: nonce() });
    const prompt = trail.state.prompt;
    if (prompt && at - prompt.appearedAt >= 3000) {
      const actor = answer(prompt.step, trail.state);
      if (actor) {
        if (prompt.step.startsWith('unplug:')) plant.plug(prompt.step.slice(7)).unplugged = true;
        if (prompt.step.startsWith('plug-in:')) plant.plug(prompt.step.slice(8)).unplugged = false;
        const value = prompt.asks === undefined ? undefined : sitting.type?.(prompt.step, trail.state);
        confirm(actor, value === undefined ? {} : { value });
      }
    }
  };
  return {
    trail,
    plant,
    tank,
    ctx,
    send,
    confirm,
    nonce,
    now: (): number => at,
    /** Second by second until it is so; fails loudly if it never comes. */
    until(what: string, isSo: (state: SessionState) => boolean, atMostSeconds = 4 * 3600): SessionState {
      for (let i = 0; i <= atMostSeconds; i++) {
        if (isSo(trail.state)) return trail.state;
        second();
      }
      throw new Error(`never came: ${what}; status ${trail.state.status}, ${trail.state.hold?.text ?? 'no hold'}`);
    },
    seconds(count: number): SessionState {
      for (let i = 0; i < count; i++) second();
      return trail.state;
    },
    loseHub(): void {
      hubUp = false;
      pending = [];
      send({ kind: 'hub-lost', at });
    },
    hubReturns(): void {
      hubUp = true;
      send({ kind: 'hub-back', at, nextNonce: nonce() });
    },
    /** The service's clock is set by so much; the plant and its reports keep the old time. */
    jumpClock(byMs: number): void {
      at += byMs;
      send({ kind: 'clock-jumped', at, byMs, nextNonce: nonce() });
    },
    restart(): void {
      pending = [];
      send({ kind: 'service-restarted', at, nextNonce: nonce() });
    },
    commands: (): readonly string[] =>
      trail.effects.flatMap(({ effect }) =>
        effect.kind === 'command' ? [`${effect.command.turn}:${effect.command.equipment}`] : [],
      ),
    /** What was said aloud or alarmed, in order. */
    words: (): readonly string[] =>
      trail.effects.flatMap(({ effect }) => (effect.kind === 'alarm' || effect.kind === 'say' ? [effect.text] : [])),
    /** Readings of some entity at this moment, beside the plant's own. */
    report(entity: EntityId, value: number | null): void {
      const reading = { entity, value, changedAt: at, reportedAt: at };
      send({ kind: 'readings', at, readings: [reading], nextNonce: nonce() });
    },
    alarms: (): readonly string[] =>
      trail.effects.flatMap(({ effect }) => (effect.kind === 'alarm' ? [effect.code] : [])),
    record: (id: string) => {
      const found = trail.state.records.find((each) => each.id === id);
      if (!found) throw new Error(`no record ${id}`);
      return found;
    },
  };
}

export const ended = (state: SessionState): boolean => ['complete', 'stopped', 'aborted'].includes(state.status);
export const heldAt = (step: string) => (state: SessionState) => state.status === 'held' && state.prompt?.step === step;
