// Where person and service meet: what the page shows, and what an answer given there becomes.
import type { Desk } from '../../../src/sim/session/index.ts';
import { type Drive, deliver, nonce, send, serviceNow, tellOfJump } from './drive.ts';
import { type Confirmation, isEnded, judgeConfirmation, RESUME_STEP } from './engine.ts';

export function deskOf(drive: () => Drive): Desk {
  const offNow = (): readonly string[] => drive().state.offNow;
  return {
    question: () => (drive().serviceUp ? drive().state.prompt : null),
    openStep: () => drive().state.plan.steps[drive().state.stepIndex],
    reason: () => drive().state.hold?.reason ?? null,
    keptOff: () => {
      const open = drive().state.plan.steps[drive().state.stepIndex];
      // What is being switched on is meant to be on.
      return offNow().filter((id) => open?.action !== 'switch-on' || open.equipment !== id);
    },
    broughtBack: () => broughtBack(drive()),
    returnsOff: () => offNow().filter((id) => drive().ctx.equipment[id]?.role === 'return-pump'),
    claimedBy: (equipment) => drive().state.claims.find((claim) => claim.equipment === equipment)?.person ?? null,
    answer: (given) => answer(drive(), given),
    abort: (actor) => {
      const it = drive();
      hearFirst(it);
      if (!it.serviceUp || isEnded(it.state)) return;
      it.recorder.add({
        kind: 'person',
        at: it.world.at,
        person: actor.kind === 'unknown' ? actor.via : actor.name,
        identified: actor.kind === 'person',
        act: 'aborts',
        accepted: true,
      });
      send(it, { kind: 'abort', at: serviceNow(it), actor, nextNonce: nonce(it) });
    },
    misdeed: (step) => drive().trouble.misdeed(drive(), step),
    mendAll: () => {
      const active = drive().struck.filter((each) => !each.isOver);
      for (const each of active) each.mend();
      return active.map((each) => each.kind);
    },
    finds: (kind) => drive().struck.some((each) => each.kind === kind && !each.isOver),
  };
}

/** By the session, and not taken off again: what a page shows as back. */
function broughtBack({ state }: Drive): readonly string[] {
  const back = new Set<string>();
  for (const [i, step] of state.plan.steps.entries()) {
    if (step.equipment === undefined) continue;
    const result = state.records[i]?.result;
    if (step.action === 'switch-off' && result !== 'pending') back.delete(step.equipment);
    if (step.action === 'switch-on' && (result === 'passed' || result === 'passed-unproven')) back.add(step.equipment);
  }
  return [...back];
}

/** The service may be killed over what it hears before the word that comes with it. */
function hearFirst(drive: Drive): void {
  if (!drive.serviceUp) return;
  tellOfJump(drive);
  deliver(drive);
}

function answer(drive: Drive, given: Parameters<Desk['answer']>[0]): boolean {
  hearFirst(drive);
  if (!drive.serviceUp) return false;
  const confirmation: Confirmation = {
    session: drive.state.id,
    step: given.step,
    nonce: given.nonce,
    actor: given.actor,
    at: serviceNow(drive),
    ...(given.value === undefined ? {} : { value: given.value }),
  };
  const verdict = judgeConfirmation(drive.state, confirmation, drive.ctx);
  drive.recorder.acted(drive.world.at, confirmation, verdict.ok);
  const kind = given.step === RESUME_STEP ? 'resume' : 'confirmed';
  send(drive, { kind, at: serviceNow(drive), confirmation, nextNonce: nonce(drive) });
  return verdict.ok;
}
