// The faults of one run: lies in wait for their step, lets them strike, kills the service and turns its clock.
import type { EquipmentId } from '../../../src/model/index.ts';
import {
  type FaultAt,
  type FaultKind,
  faultFacts,
  giveAll,
  type Struck,
  strike,
} from '../../../src/sim/session/index.ts';
import { type DurationMs, MINUTE_MS, SECOND_MS } from '../../../src/units/index.ts';
import { type Drive, type Hit, nonce, send, serviceNow, tellSkew } from './drive.ts';
import { isEnded, type SessionState, type Step } from './engine.ts';

export type Trouble = {
  /** Each step that was open while the fault was in force. */
  hits(): readonly Hit[];
  readonly strikes: Hit[];
  follow(drive: Drive, before: SessionState | null): void;
  misdeed(drive: Drive, step: string): FaultKind | null;
  kill(drive: Drive): void;
};

export function createTrouble(faults: readonly FaultAt[]): Trouble {
  const hits = new Map<string, Hit>();
  const strikes: Hit[] = [];
  const hit = (step: string, kind: FaultKind): void => {
    hits.set(`${step} ${kind}`, { step, kind });
  };
  const waiting = [...faults];
  const take = (step: string, wanted: (each: FaultAt) => boolean): readonly FaultAt[] => {
    const due = waiting.filter((each) => each.step === step && wanted(each));
    for (const each of due) waiting.splice(waiting.indexOf(each), 1);
    return due;
  };
  return {
    hits: () => [...hits.values()],
    strikes,
    follow(drive, before) {
      const open = openName(drive.state);
      if (open === null || (before !== null && openName(before) === open)) return;
      for (const each of drive.struck) if (!each.isOver && concerns(each, drive)) hit(open, each.kind);
      for (const fault of take(open, (each) => faultFacts(each.kind).group !== 'person')) {
        lieInWait(drive, fault, () => {
          hit(fault.step, fault.kind);
          strikes.push(fault);
        });
      }
    },
    misdeed(_drive, step) {
      const [fault] = take(step, (each) => faultFacts(each.kind).group === 'person');
      if (fault === undefined) return null;
      hit(step, fault.kind);
      strikes.push(fault);
      return fault.kind;
    },
    kill: (drive) => kill(drive),
  };
}

/** A fault of a plug is in force for the steps of its own equipment; anything else for every step. */
function concerns({ kind, equipment }: Struck, { state }: Drive): boolean {
  return faultFacts(kind).group !== 'plug' || state.plan.steps[state.stepIndex]?.equipment === equipment;
}

/** The step that is open, `#begin` while the plan waits for its confirmation; null once it is over. */
const openName = (state: SessionState): string | null =>
  isEnded(state) ? null : state.stepIndex < 0 ? '#begin' : (state.plan.steps[state.stepIndex]?.id ?? null);

function lieInWait(drive: Drive, fault: FaultAt, struck: () => void): void {
  const delayMs = fault.share * likelyMs(drive);
  const now = (): void => {
    if (openName(drive.state) !== fault.step) return;
    struck();
    letStrike(drive, fault);
  };
  if (delayMs < 1) now();
  else drive.world.queue.add(drive.world.at + delayMs, now);
}

/** About how long a step takes. */
function likelyMs({ state }: Drive): DurationMs {
  const step = state.plan.steps[state.stepIndex];
  if (step === undefined) return 4 * SECOND_MS;
  switch (step.action) {
    case 'wait':
      return waitLeft(state, step);
    case 'settle':
      return step.holdPoint ? 5 * SECOND_MS : (step.waitMs ?? MINUTE_MS);
    case 'switch-on':
      return step.holdPoint ? 4 * SECOND_MS : 40 * SECOND_MS;
    case 'switch-off':
      return step.holdPoint ? 4 * SECOND_MS : 8 * SECOND_MS;
    case 'observe':
      return 15 * SECOND_MS;
    default:
      return step.holdPoint ? 5 * SECOND_MS : 300;
  }
}

function waitLeft(state: SessionState, step: Step): DurationMs {
  const from = state.records.find((record) => record.id === (step.waitFrom ?? step.id));
  const opened = state.records[state.stepIndex]?.openedAt ?? 0;
  const since = from?.closedAt ?? from?.openedAt ?? opened;
  return Math.max(0, since + (step.waitMs ?? 0) - opened);
}

function letStrike(drive: Drive, fault: FaultAt): void {
  const { world } = drive;
  switch (fault.kind) {
    case 'service-killed':
      kill(drive);
      return;
    case 'killed-before-sending':
      drive.dieNext = true;
      return;
    case 'clock-ahead':
    case 'clock-behind':
      turnClock(drive, fault.kind === 'clock-ahead' ? 1 : -1);
      return;
    default:
  }
  const equipment = targetOf(drive, fault);
  const struck = strike(world, {
    kind: fault.kind,
    equipment,
    onLink: (state) => (state === 'lost' ? loseLink(drive) : regainLink(drive)),
  });
  drive.struck.push(struck);
}

/** Whose plug it is: that of the step, or one that the session keeps off; of the movers, one that stays on. */
function targetOf(drive: Drive, { kind }: FaultAt): EquipmentId | null {
  const { state, world, ctx } = drive;
  const step = state.plan.steps[state.stepIndex];
  if (kind === 'mover-stops') return state.plan.keptMovers?.find((id) => ctx.equipment[id] !== undefined) ?? null;
  const group = faultFacts(kind).group;
  const own = step?.equipment;
  const needsOff =
    kind === 'foreign-on' || kind === 'foreign-fight' || (kind === 'revives' && step?.action !== 'switch-off');
  if (needsOff) {
    const off = keptOff(drive);
    return off[Math.floor(world.random.next() * off.length)] ?? null;
  }
  if (group !== 'plug') return null;
  if (own !== undefined && ctx.equipment[own]?.switchEntity !== undefined) return own;
  const some = state.plan.outOfService.filter((id) => ctx.equipment[id]?.switchEntity !== undefined);
  return some[Math.floor(world.random.next() * some.length)] ?? null;
}

const keptOff = ({ state, ctx }: Drive): readonly EquipmentId[] =>
  [...new Set([...state.offNow, ...state.claims.map((claim) => claim.equipment)])].filter(
    (id) => ctx.equipment[id]?.switchEntity !== undefined,
  );

/** A second or more passes before the service notices that its hub is gone. */
function loseLink(drive: Drive): void {
  const { world } = drive;
  const noticedMs = world.random.between(1, 12) * SECOND_MS;
  const { life } = drive;
  world.queue.add(world.at + noticedMs, () => {
    if (drive.life === life && !world.linkUp) noteLost(drive);
  });
}

function noteLost(drive: Drive): void {
  if (!drive.serviceUp || !drive.linkKnownUp) return;
  drive.linkKnownUp = false;
  drive.recorder.add({ kind: 'link', at: drive.world.at, state: 'lost' });
  send(drive, { kind: 'hub-lost', at: serviceNow(drive) });
}

/** A new connection: until then nothing has come through. */
function regainLink(drive: Drive): void {
  const { world } = drive;
  world.queue.add(world.at + world.random.between(1, 4) * SECOND_MS, () => {
    if (drive.serviceUp) noteLost(drive);
    world.linkUp = true;
    if (drive.serviceUp) connect(drive);
  });
}

function connect(drive: Drive): void {
  const { world } = drive;
  if (!drive.linkKnownUp) drive.recorder.add({ kind: 'link', at: world.at, state: 'back' });
  drive.linkKnownUp = true;
  send(drive, { kind: 'hub-back', at: serviceNow(drive), nextNonce: nonce(drive) });
  tellSkew(drive);
  giveAll(world);
  drive.tickAt = Math.min(drive.tickAt, world.at + SECOND_MS);
}

/** Killed between two instructions; what it had collected and what was on its way to it is lost. */
function kill(drive: Drive): void {
  if (!drive.serviceUp) return;
  const { world } = drive;
  drive.serviceUp = false;
  drive.life += 1;
  drive.collected.clear();
  drive.recorder.add({ kind: 'service', at: world.at, state: 'down' });
  world.queue.add(world.at + world.random.between(3, 90) * SECOND_MS, () => restart(drive));
}

function restart(drive: Drive): void {
  const { world, recorder } = drive;
  drive.crashes.push({ events: drive.events.length, lived: drive.state });
  drive.serviceUp = true;
  // A new process knows of no steady time before its own.
  drive.jumpedMs = 0;
  recorder.add({ kind: 'service', at: world.at, state: 'up' });
  // Known only when it is back: the event that was stored and not acted on.
  recorder.shown(world.at, drive.state);
  send(drive, { kind: 'service-restarted', at: serviceNow(drive), nextNonce: nonce(drive) });
  world.queue.add(world.at + 1_500, () => {
    if (!drive.serviceUp) return;
    if (world.linkUp) connect(drive);
    else {
      drive.linkKnownUp = true;
      noteLost(drive);
    }
  });
}

/** By as much as a wrong battery clock is off, for as long as it takes until the network time puts it right. */
function turnClock(drive: Drive, sign: 1 | -1): void {
  const { world } = drive;
  const sizes = [20 * SECOND_MS, 90 * SECOND_MS, 8 * MINUTE_MS, 61 * MINUTE_MS];
  const byMs = sign * (sizes[Math.floor(world.random.next() * sizes.length)] ?? MINUTE_MS);
  jump(drive, byMs);
  world.queue.add(world.at + world.random.between(30, 200) * SECOND_MS, () => jump(drive, -byMs));
}

/** Forth and back between two looks is nothing that anybody could notice: each jump is left to be seen by itself. */
function jump(drive: Drive, byMs: DurationMs): void {
  const { world, recorder } = drive;
  if (drive.serviceUp && drive.jumpedMs !== 0) {
    world.queue.add(world.at + 2 * SECOND_MS, () => jump(drive, byMs));
    return;
  }
  drive.skewMs += byMs;
  drive.jumpedMs += byMs;
  recorder.add({ kind: 'clock-jump', at: world.at, byMs });
  drive.tickAt = Math.min(drive.tickAt, world.at + SECOND_MS);
}
