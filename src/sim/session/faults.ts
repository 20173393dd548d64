// Everything that may go wrong in a session, by whom, and whether the run can still be brought to a good end.
import type { RoleFacts } from '../../rules/index.ts';

export type FaultGroup = 'plug' | 'link' | 'service' | 'tank' | 'person';

export type FaultFacts = {
  readonly group: FaultGroup;
  /** Goes away by itself, or a person who is told puts it right on the spot: the session can then be finished. */
  readonly recoverable: boolean;
  readonly what: string;
};

const plug = (recoverable: boolean, what: string) => ({ group: 'plug', recoverable, what }) as const;
const link = (recoverable: boolean, what: string) => ({ group: 'link', recoverable, what }) as const;
const service = (what: string) => ({ group: 'service', recoverable: true, what }) as const;
const tank = (recoverable: boolean, what: string) => ({ group: 'tank', recoverable, what }) as const;
const person = (recoverable: boolean, what: string) => ({ group: 'person', recoverable, what }) as const;

export const FAULTS = {
  sticks: plug(true, 'the plug does not obey and says so'),
  parrots: plug(false, 'the plug says what it was told and does nothing'),
  welds: plug(false, 'the contacts are welded; the plug says off and the load draws on'),
  revives: plug(true, 'the plug comes back on by itself after a blip'),
  slow: plug(true, 'the plug reports everything 20 to 40 s late'),
  'refuses-once': plug(true, 'one command is refused'),
  'refuses-always': plug(false, 'every command is refused until somebody replaces the plug'),
  'silent-for-a-while': plug(true, 'nothing is heard of the plug for a while'),
  'silent-for-good': plug(false, 'nothing is heard of the plug until somebody replaces it'),
  'meter-frozen': plug(false, 'the meter repeats its last watts as new'),
  'meter-missing': plug(true, 'the meter has no watts for a while'),
  'dead-start': plug(true, 'it hums and does not turn when switched on'),
  'hub-gone-short': link(true, 'the link to the hub is down for less than a minute'),
  'hub-gone-long': link(true, 'the link to the hub is down for minutes'),
  'hub-restarts': link(true, 'the hub restarts and knows nothing of its devices at first'),
  'messages-lost': link(true, 'most reports are lost for a while'),
  'messages-late': link(true, 'reports arrive up to a minute late'),
  'messages-twice': link(true, 'every report arrives twice'),
  'messages-swapped': link(true, 'reports overtake each other'),
  'service-killed': service('the service is killed and started again'),
  'killed-before-sending': service('the service is killed after it has stored an event and before it acts on it'),
  'clock-ahead': service('the service’s clock jumps ahead and is put right later'),
  'clock-behind': service('the service’s clock jumps back and is put right later'),
  'foreign-on': tank(true, 'another automation switches on what the session keeps off'),
  'foreign-fight': tank(false, 'another automation switches it on again and again'),
  'siphon-blocked': tank(false, 'the siphon hole is blocked: the display drains on and on'),
  leak: tank(false, 'water on the floor'),
  'float-stuck': tank(true, 'the low float hangs and asks for water'),
  'level-frozen': tank(false, 'the level sensor repeats its last reading'),
  'level-silent': tank(true, 'the level sensor is not heard for a while'),
  'probe-drifts': tank(false, 'one thermometer reads wrong'),
  'mover-stops': tank(true, 'the pump that should stay on stops turning'),
  'mains-blip': tank(true, 'the mains fail for some seconds'),
  'person-slow': person(true, 'the person needs half an hour'),
  'person-silent': person(false, 'the person does not answer any more'),
  'wrong-cord': person(true, 'the person pulls another cord'),
  'early-press': person(true, 'the person presses before reading'),
  'wrong-person': person(true, 'somebody else, or a machine, presses first'),
  'double-press': person(true, 'the same answer arrives twice'),
  nonsense: person(true, 'the person types a value that cannot be'),
  'says-not-does': person(false, 'the person says done and has not done it'),
  aborts: person(false, 'the person aborts'),
} as const satisfies Readonly<Record<string, FaultFacts>>;

export type FaultKind = keyof typeof FAULTS;
export const FAULT_KINDS = Object.keys(FAULTS) as readonly FaultKind[];

export const faultFacts = (kind: FaultKind): FaultFacts => FAULTS[kind];

/** A fault that strikes while this step is open, at a share of the time it is likely to take. */
export type FaultAt = { readonly kind: FaultKind; readonly step: string; readonly share: number };

export const describeFault = ({ kind, step }: FaultAt): string => `${kind} at ${step}: ${faultFacts(kind).what}`;

/** Whether an equipment of this role hums without turning when something is wrong with it. */
export const canHum = (role: RoleFacts): boolean => role.waterMover || role.name === 'protein skimmer';
