// The person at the tank in virtual time: reads what is asked, does it with hands and cords, answers; or does it wrong.
import type { Actor, EquipmentId } from '../../model/index.ts';
import type { Step } from '../../procedure/index.ts';
import { type DurationMs, MINUTE_MS, SECOND_MS } from '../../units/index.ts';
import { type Prng, prng, seedFor } from '../random.ts';
import { setClosed, setHands, setLifted, setPluggedIn, setTaken, switchByHand } from './acts.ts';
import type { FaultKind } from './faults.ts';
import { typedValue } from './typing.ts';
import { deviceOf, type World } from './world.ts';

export const ADA: Actor = { kind: 'person', name: 'Ada', via: 'simulated' };
export const BO: Actor = { kind: 'person', name: 'Bo', via: 'simulated' };
export const CEM: Actor = { kind: 'person', name: 'Cem', via: 'simulated' };
const ROBOT: Actor = { kind: 'machine', name: 'flow' };

export type Question = { readonly step: string; readonly nonce: string; readonly text: string };

export type AnswerGiven = Question & { readonly actor: Actor; readonly value?: number };

/** What a person sees of the service and can do there. */
export type Desk = {
  question(): Question | null;
  openStep(): Step | undefined;
  /** Why it is held, where it is. */
  reason(): string | null;
  /** Kept off now, as every surface shows it. */
  keptOff(): readonly EquipmentId[];
  returnsOff(): readonly EquipmentId[];
  /** Shown as back. */
  broughtBack(): readonly EquipmentId[];
  claimedBy(equipment: EquipmentId): string | null;
  answer(given: AnswerGiven): boolean;
  abort(actor: Actor): void;
  /** What goes wrong at this step with the person: each once. */
  misdeed(step: string): FaultKind | null;
  /** Puts right what a look at the tank shows to be wrong. */
  mendAll(): readonly FaultKind[];
  finds(kind: FaultKind): boolean;
};

export type Person = {
  /** A question appeared. */
  notice(question: Question): void;
  /** A step that no button answers, but hands do: a float moved, a valve turned. */
  attend(step: Step): void;
  readonly answers: { given: number; readonly steps: Set<string>; resumes: number };
};

type Self = {
  readonly world: World;
  readonly desk: Desk;
  readonly random: Prng;
  readonly person: Person;
  readonly typed: Map<string, number>;
  readonly inHand: Set<EquipmentId>;
  /** Cords pulled by mistake. */
  readonly wrongCords: Set<EquipmentId>;
  isSilent: boolean;
  isLooking: boolean;
  /** How often the step that is open has been resumed. */
  stuck: { step: string; resumes: number };
};

/** So often at one step; then it is given up. */
const MOST_RESUMES = 6;
const THINK_MS = [3 * SECOND_MS, 12 * SECOND_MS] as const;

export function createPerson(world: World, desk: Desk, seed: number): Person {
  const self: Self = {
    world,
    desk,
    random: prng(seedFor(seed, 'person')),
    person: {
      notice: (question) => notice(self, question),
      attend: (step) => attend(self, step),
      answers: { given: 0, steps: new Set(), resumes: 0 },
    },
    typed: new Map(),
    inHand: new Set(),
    wrongCords: new Set(),
    isSilent: false,
    isLooking: false,
    stuck: { step: '', resumes: 0 },
  };
  return self.person;
}

/** Later, if the question still stands then. */
function later(self: Self, ms: DurationMs, question: Question, act: () => void): void {
  self.world.queue.add(self.world.at + ms, () => {
    if (!self.isSilent && self.desk.question()?.nonce === question.nonce) act();
  });
}

function notice(self: Self, question: Question): void {
  if (self.isSilent) return;
  const { random, desk } = self;
  const misdeed = desk.misdeed(question.step);
  const thinkMs = random.between(...THINK_MS);
  switch (misdeed) {
    case 'person-silent':
      self.isSilent = true;
      // Where an end was to come as well: somebody else walks up after a long while, and gives up.
      if (desk.misdeed(question.step) === 'aborts') {
        self.world.queue.add(self.world.at + random.between(40, 65) * MINUTE_MS, () => desk.abort(BO));
      }
      return;
    case 'aborts':
      later(self, thinkMs, question, () => abort(self));
      return;
    case 'person-slow':
      later(self, random.between(25, 40) * MINUTE_MS, question, () => respond(self, question, null));
      return;
    case 'early-press':
      later(self, random.between(200, 1_700), question, () => give(self, question, ADA));
      break;
    case 'wrong-person':
      // Whoever begins is the one at the tank; somebody else's word there would be no mistake.
      later(self, 2_500, question, () =>
        give(self, question, question.step === '#begin' || random.next() < 0.5 ? ROBOT : CEM),
      );
      break;
    default:
  }
  later(self, thinkMs, question, () => respond(self, question, misdeed));
}

function abort(self: Self): void {
  setHands(self.world, 'Ada', false, [...self.inHand]);
  self.desk.abort(ADA);
}

/** Does what is asked, then says so. */
function respond(self: Self, question: Question, misdeed: FaultKind | null): void {
  const { desk, random } = self;
  if (question.step === '#begin') {
    finish(self, question, misdeed, 0);
    return;
  }
  if (question.step === '#resume') {
    lookAround(self, question);
    return;
  }
  if (question.step.startsWith('#')) {
    // A released claim leaves no plug in the hand.
    setHands(self.world, 'Ada', false, question.step.startsWith('#release:') ? [] : [...self.inHand]);
    finish(self, question, misdeed, 2 * SECOND_MS);
    return;
  }
  const step = desk.openStep();
  if (step?.id !== question.step) return;
  const takesMs = misdeed === 'says-not-does' ? 0 : doStep(self, step, misdeed);
  const value = step.reading === undefined ? undefined : typedValue(self.world, step, self.typed, random);
  if (misdeed === 'nonsense') {
    const wrong = step.reading === undefined ? -1 : random.next() < 0.5 ? -40 : 1e6;
    later(self, takesMs + SECOND_MS, question, () => give(self, question, ADA, wrong));
    // Asked anew or not: a little later the right value follows.
    later(self, takesMs + 15 * SECOND_MS, question, () => finish(self, question, null, 0, value));
    return;
  }
  finish(self, question, misdeed, takesMs, value);
}

function finish(self: Self, question: Question, misdeed: FaultKind | null, takesMs: DurationMs, value?: number): void {
  const again = (tries: number): void => {
    const actor = actorFor(self, question);
    give(self, question, actor, value);
    if (misdeed === 'double-press') give(self, question, actor, value);
    if (tries > 1) later(self, 20 * SECOND_MS, question, () => again(tries - 1));
    else later(self, 20 * SECOND_MS, question, () => abort(self));
  };
  later(self, takesMs, question, () => again(4));
}

/** Whoever claimed it answers for it. */
function actorFor(self: Self, question: Question): Actor {
  const step = self.desk.openStep();
  const equipment = question.step.startsWith('#release:') ? question.step.slice(9) : step?.equipment;
  const owner = equipment === undefined ? null : self.desk.claimedBy(equipment);
  return owner === null || owner === 'Ada' ? ADA : { kind: 'person', name: owner, via: 'simulated' };
}

function give(self: Self, question: Question, actor: Actor, value?: number): void {
  const { answers } = self.person;
  answers.given += 1;
  const taken = self.desk.answer({ ...question, actor, ...(value === undefined ? {} : { value }) });
  if (taken && question.step === '#resume') answers.resumes += 1;
  else if (taken) answers.steps.add(question.step);
}

/** Hands and cords; returns how long that takes. */
function doStep(self: Self, step: Step, misdeed: FaultKind | null): DurationMs {
  const { world, random } = self;
  const id = step.equipment;
  switch (step.action) {
    case 'unplug':
      if (id === undefined) return 0;
      pull(self, misdeed === 'wrong-cord' ? neighbourOf(world, id) : id, id);
      return random.between(3, 6) * SECOND_MS;
    case 'plug-in':
      if (id === undefined) return 0;
      putBack(self, id);
      return random.between(3, 6) * SECOND_MS;
    case 'switch-off':
    case 'switch-on':
      if (id !== undefined) switchByHand(world, id, step.action === 'switch-on');
      return random.between(2, 5) * SECOND_MS;
    case 'hands-on':
      return work(self, step);
    case 'check':
      if (/immersed/.test(step.id)) setTaken(world, 0);
      return waitToSee(self, step);
    case 'settle':
      return waitToSee(self, step);
    default:
      return random.between(5, 20) * SECOND_MS;
  }
}

function pull(self: Self, cord: EquipmentId, asked: EquipmentId): void {
  setPluggedIn(self.world, cord, false);
  if (cord !== asked) self.wrongCords.add(cord);
  self.inHand.add(cord);
  setHands(self.world, 'Ada', false, [...self.inHand]);
}

function putBack(self: Self, id: EquipmentId): void {
  setLifted(self.world, id, false);
  for (const cord of [id, ...self.wrongCords]) {
    self.inHand.delete(cord);
    setPluggedIn(self.world, cord, true);
  }
  self.wrongCords.clear();
  setHands(self.world, 'Ada', false, [...self.inHand]);
}

/** The device that hangs beside it, with a plug of its own. */
export function neighbourOf(world: World, id: EquipmentId): EquipmentId {
  const ids = [...world.devices.keys()].filter((each) => world.devices.get(each)?.role.neverStopped === false);
  const at = ids.indexOf(id);
  return ids[(at + 1) % ids.length] ?? id;
}

const CHANGED_L = 45;

function work(self: Self, step: Step): DurationMs {
  const { world, random } = self;
  if (/siphon-out/.test(step.id)) setTaken(world, CHANGED_L);
  if (/pour-in/.test(step.id)) setTaken(world, 0);
  if (self.inHand.size === 0) return random.between(30, 180) * SECOND_MS;
  setHands(world, 'Ada', true, [...self.inHand]);
  for (const id of self.inHand) lift(self, step, id);
  const ms = random.between(30, 240) * SECOND_MS;
  world.queue.add(world.at + ms, () => {
    if (!self.isSilent) setHands(world, 'Ada', false, [...self.inHand]);
  });
  return ms + SECOND_MS;
}

/** Skimmers stay out until they are refitted; of heaters the new one is in the water when the step is over. */
function lift(self: Self, step: Step, id: EquipmentId): void {
  const { world } = self;
  const { role } = deviceOf(world, id).equipment;
  if (role === 'skimmer' && /:lift/.test(step.id)) setLifted(world, id, true);
  if (role === 'skimmer' && /:refit/.test(step.id)) setLifted(world, id, false);
  if (role === 'heater' && /heater-out/.test(step.id)) {
    setLifted(world, id, true);
    world.queue.add(world.at + 20 * SECOND_MS, () => setLifted(world, id, false));
  }
}

/** A person who is to say that water has come to rest waits until it has. */
function waitToSee(self: Self, step: Step): DurationMs {
  const least = self.random.between(5, 15) * SECOND_MS;
  return step.settle === undefined ? least : least + 3 * MINUTE_MS;
}

/** Moves what a step wants to see moving. */
function attend(self: Self, step: Step): void {
  const { world, random } = self;
  const seen = step.observe;
  if (self.isSilent || seen === undefined) return;
  const probe = world.sensing.probes.get(seen.entity);
  if (!probe) {
    holdFloat(self, seen.is === 'at-most' || seen.is === 'off' ? 'high' : 'low');
    return;
  }
  const [yes, no] = seen.is === 'on' ? [1, 0] : seen.is === 'off' ? [0, 1] : [seen.value ?? 0, opposite(seen)];
  let at = world.at + random.between(4, 8) * SECOND_MS;
  const show = (value: number | null): void => {
    world.queue.add(at, () => {
      if (world.water.floatHangs && probe.sensor.kind === 'low-float') return;
      probe.forced = value;
      probe.nextAt = world.at;
    });
    at += random.between(2.2, 3.6) * SECOND_MS;
  };
  // What is to be seen once is just shown; what is to be seen again and again moves to and fro.
  for (let i = 0; i < (seen.times ?? 1); i++) {
    if (seen.times !== undefined) show(no);
    show(yes);
  }
  at += 20 * SECOND_MS;
  show(null);
}

/** Watts of the top-off are to be seen: the float that makes it run, or the one that stops it, is held for a while. */
function holdFloat(self: Self, float: 'low' | 'high'): void {
  const { world } = self;
  world.queue.add(world.at + 4 * SECOND_MS, () => {
    world.water.heldFloat = float;
  });
  world.queue.add(world.at + 90 * SECOND_MS, () => {
    if (world.water.heldFloat === float) world.water.heldFloat = null;
  });
}

const opposite = (seen: { readonly is: string; readonly value?: number }): number =>
  seen.is === 'at-least' ? (seen.value ?? 0) - 2 : (seen.value ?? 0) + 2;

/** Something is wrong: looks at the tank, puts right what can be, says go on; or gives up. */
function lookAround(self: Self, question: Question): void {
  const { world, desk, random } = self;
  if (desk.finds('siphon-blocked') && desk.reason() === 'limit-exceeded') {
    // The words on the screen: start the return by hand before the sump overflows, then abort.
    for (const id of desk.returnsOff()) {
      const device = deviceOf(world, id);
      if (device.pluggedIn) setClosed(world, device, true, 'person');
    }
    later(self, 20 * SECOND_MS, question, () => abort(self));
    return;
  }
  const step = desk.openStep()?.id ?? '';
  // Called again while on the way to look: one look answers both.
  if (self.isLooking) return;
  self.stuck = { step, resumes: step === self.stuck.step ? self.stuck.resumes + 1 : 1 };
  if (self.stuck.resumes > MOST_RESUMES) {
    abort(self);
    return;
  }
  self.isLooking = true;
  world.queue.add(world.at + random.between(20, 90) * SECOND_MS, () => {
    self.isLooking = false;
    const asked = desk.question();
    if (self.isSilent || asked?.step !== question.step) return;
    putRight(self);
    later(self, random.between(8, 30) * SECOND_MS, asked, () => finish(self, asked, null, 0));
  });
}

function putRight(self: Self): void {
  const { world, desk } = self;
  desk.mendAll();
  for (const id of desk.keptOff()) {
    const device = deviceOf(world, id);
    if (device.closed && !device.welded) setClosed(world, device, false, 'person');
  }
  for (const id of desk.broughtBack()) {
    const { equipment, closed } = deviceOf(world, id);
    const { kind } = equipment.driver;
    // What its own schedule or thermostat switched off again is as it should be.
    if (!closed && kind !== 'schedule' && kind !== 'thermostat') switchByHand(world, id, true);
  }
  for (const cord of self.wrongCords) {
    self.inHand.delete(cord);
    setPluggedIn(world, cord, true);
  }
  self.wrongCords.clear();
  // What is claimed and turned out not to be unplugged, is now.
  for (const id of world.devices.keys()) {
    if (desk.claimedBy(id) === null) continue;
    self.inHand.add(id);
    setPluggedIn(world, id, false);
  }
  refillIfLow(world, desk);
  setHands(world, 'Ada', false, [...self.inHand]);
}

/** Salt water that went missing is put back. */
function refillIfLow(world: World, desk: Desk): void {
  const step = desk.openStep();
  if (step?.settle !== 'mark') return;
  world.water.missingL = 0;
  world.water.takenL = 0;
}
