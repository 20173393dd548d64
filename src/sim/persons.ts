// Simulated persons: they read what the service shows in the hub, pull and plug cords, and press its confirm button as a
// logged-in user. Some do it wrong on purpose. They are always named as simulated.
import type { System } from '../ports/index.ts';
import type { DurationMs } from '../units/index.ts';
import type { SimHub, SimPerson } from './home/index.ts';
import { asRecord } from './hub/index.ts';
import { prng, seedFor } from './random.ts';
import { PLUG_KEYS, type PlugKey } from './tank/index.ts';

export type Behaviour =
  /** Does what is asked, in human time. */
  | 'helpful'
  /** Never answers. */
  | 'silent'
  /** Presses as soon as something appears, before having done it; later does it properly and presses again. */
  | 'too-early'
  /** Pulls another device's cord and says it was the right one. */
  | 'wrong-cord';

export type PersonAct = { readonly at: number; readonly act: string };

export type SimulatedPerson = {
  /** "Duty caretaker (simulated person)". */
  readonly label: string;
  readonly person: SimPerson;
  /** What this person did, oldest first. */
  readonly acts: readonly PersonAct[];
  setBehaviour(behaviour: Behaviour): void;
  /** Walks away: answers nothing more. */
  leave(): void;
};

export type PersonOptions = {
  readonly hub: SimHub;
  readonly system: Pick<System, 'clock' | 'timers'>;
  readonly name: string;
  readonly seed: number;
  readonly behaviour?: Behaviour;
  /** Prefix of the service's states and helpers in the hub. */
  readonly prefix?: string;
  readonly confirmButton?: string;
  /** How long the work itself takes. */
  readonly workMs?: DurationMs;
};

type Prompt = {
  readonly nonce: string;
  readonly action: string;
  readonly plug: PlugKey | undefined;
  readonly isTrouble: boolean;
};

const THINK_MS = [3_500, 8_000] as const;
const HANDLE_MS = [3_500, 6_000] as const;
const EARLY_MS = 400;
const AGAIN_MS: DurationMs = 30_000;
const MOST_TRIES = 5;
const WORK_MS: DurationMs = 60_000;

export function simulatedPerson(options: PersonOptions): SimulatedPerson {
  const { hub, system, name } = options;
  const prefix = options.prefix ?? 'slackwater';
  const button = options.confirmButton ?? `input_button.${prefix}_confirm`;
  const person = hub.persons.find((one) => one.name === name);
  if (person === undefined) throw new Error(`nobody called ${name} in the simulated home`);
  const random = prng(seedFor(options.seed, `person ${name}`));
  const acts: PersonAct[] = [];
  let behaviour = options.behaviour ?? 'helpful';
  let seenNonce = '';
  const did = (act: string): void => {
    acts.push({ at: system.clock.now(), act });
  };
  const later = (delayMs: DurationMs, nonce: string, fn: () => void): void => {
    system.timers.after(delayMs, `simulated person ${name}`, () => {
      if (seenNonce === nonce && behaviour !== 'silent') fn();
    });
  };
  const press = (what: string): void => {
    did(what);
    hub.call('input_button.press', button, person.userId);
  };
  /** Where the same question still stands a while later, the press was not taken: once more, a few times at most. */
  const pressUntilTaken = (prompt: Prompt, tries: number): void => {
    press(`confirms ${prompt.action}`);
    if (tries > 1) later(AGAIN_MS, prompt.nonce, () => pressUntilTaken(prompt, tries - 1));
  };
  const handle = hands(hub, did, () => behaviour === 'wrong-cord');
  const answer = (prompt: Prompt): void => {
    if (behaviour === 'too-early') later(EARLY_MS, prompt.nonce, () => press('presses too early'));
    const thinkMs = random.between(...THINK_MS) + (prompt.action === 'hands-on' ? (options.workMs ?? WORK_MS) : 0);
    later(thinkMs, prompt.nonce, () => {
      handle(prompt);
      later(random.between(...HANDLE_MS), prompt.nonce, () => pressUntilTaken(prompt, MOST_TRIES));
    });
  };
  const stop = hub.onState(({ entity, next }) => {
    if (entity !== `sensor.${prefix}_session` || next === null) return;
    const prompt = promptOf(next.attributes);
    if (prompt?.nonce === seenNonce) return;
    seenNonce = '';
    if (prompt === null) return;
    seenNonce = prompt.nonce;
    // A person who finds something wrong looks first; nobody here presses it away.
    if (behaviour === 'silent' || prompt.isTrouble) return;
    answer(prompt);
  });
  return {
    label: `${name} (simulated person)`,
    person,
    acts,
    setBehaviour(next) {
      behaviour = next;
    },
    leave() {
      seenNonce = '';
      stop();
    },
  };
}

/** What a person does with cords and devices before confirming. */
function hands(hub: SimHub, did: (act: string) => void, isAtWrongCord: () => boolean): (prompt: Prompt) => void {
  /** The device whose cord was pulled last: steps of the work itself do not name it. */
  let inHand: PlugKey | undefined;
  return ({ action, plug }) => {
    if (action === 'unplug' && plug !== undefined) {
      const cord = isAtWrongCord() ? neighbourOf(plug) : plug;
      hub.unplug(cord);
      inHand = plug;
      did(`pulls the cord of ${cord}`);
    }
    const worked = plug ?? inHand;
    if (action === 'hands-on' && worked !== undefined) {
      hub.clean(worked);
      did(`works on ${worked}`);
    }
    if (action === 'plug-in' && plug !== undefined) {
      hub.plugIn(plug);
      if (isAtWrongCord()) hub.plugIn(neighbourOf(plug));
      did(`plugs ${plug} in`);
    }
  };
}

/** What is asked now; action and equipment come with the state, or else from the step's own id, `unplug:skimmer`. */
function promptOf(attributes: Readonly<Record<string, unknown>>): Prompt | null {
  const nonce = attributes['nonce'];
  if (typeof nonce !== 'string' || nonce === '') return null;
  const [stepAction = '', stepEquipment = ''] = String(attributes['step'] ?? '').split(':');
  const action = textOr(attributes['action'], stepAction);
  const plug = textOr(attributes['equipment'], stepEquipment).replaceAll('-', '_');
  const reason = textOr(asRecord(attributes['hold'])['reason'], textOr(attributes['hold_reason'], 'person-needed'));
  return {
    nonce,
    action,
    plug: PLUG_KEYS.find((key) => key === plug),
    isTrouble: reason !== 'person-needed',
  };
}

const textOr = (value: unknown, otherwise: string): string => (typeof value === 'string' ? value : otherwise);

/** The cord that hangs beside it. */
export function neighbourOf(plug: PlugKey): PlugKey {
  const index = PLUG_KEYS.indexOf(plug);
  return PLUG_KEYS[index === 0 ? 1 : index - 1] ?? plug;
}
