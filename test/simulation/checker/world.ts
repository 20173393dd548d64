import type { EquipmentFacts, ReadingGot, Said, TraceEntry, TraceHeader, TraceInstant } from '../trace.ts';

/** Everything true, known and said so far. Folded entry by entry; checks only look. */
export type World = {
  readonly header: TraceHeader;
  now: TraceInstant;
  readonly truth: Map<string, Truth>;
  readonly water: { sumpCm?: number; displayCm?: number; temperatureC?: number; flow?: boolean };
  readonly hands: Map<string, { readonly inWater: boolean; readonly holds: readonly string[] }>;
  /** Reports got, oldest first, per entity; the last sixty-odd. */
  readonly reports: Map<string, ReadingGot[]>;
  /** Last switching of each equipment by us. */
  readonly commands: Map<string, { readonly turn: 'on' | 'off'; readonly at: TraceInstant; readonly origin: string }>;
  /** Last report of each equipment's entities at the moment of the last "off": what the fall is measured from. */
  readonly beforeOff: Map<string, { readonly watts: number | null; readonly effect: number | null }>;
  /** Already off when we first told it so: being left off is being back. */
  readonly wasOff: Set<string>;
  /** Drivers as we set them: suspended since, by our own doing. */
  readonly suspended: Map<string, TraceInstant>;
  /** Equipment → who said "unplugged, mine". */
  readonly claims: Map<string, { readonly person: string; readonly at: TraceInstant }>;
  /** Last word of a person on an equipment, and on the room for the water. */
  readonly seen: Map<string, { readonly what: 'off' | 'on' | 'room'; readonly at: TraceInstant }>;
  readonly prompts: Map<string, Said>;
  /** Loss, crash or jump that has not been answered: since when re-reading counts, and whether a person must speak. */
  upset: { readonly since: TraceInstant; readonly needsPerson: boolean; readonly what: string } | null;
  linkLostAt: TraceInstant | null;
  downSince: TraceInstant | null;
  /** The service's clock less true time. */
  skewMs: number;
  lastWord: TraceInstant | null;
  /** Hands were asked in and no word has come since: for all anybody knows they are in. */
  handsAsked: string | null;
  agreed: readonly string[];
  startedAt: TraceInstant | null;
  endedAt: TraceInstant | null;
  abortedAt: TraceInstant | null;
  listed: readonly string[];
  /** Commanded off by a session, or its driver suspended, at any time. */
  readonly touched: Set<string>;
};

export type Truth = {
  pluggedIn: boolean;
  relayOn: boolean;
  watts: number;
  running: boolean;
  driverSuspended: boolean;
  immersed: boolean;
};

export const worldOf = (header: TraceHeader): World => ({
  header,
  now: Number.NEGATIVE_INFINITY,
  truth: new Map(
    Object.keys(header.equipment).map((id) => [
      id,
      { pluggedIn: true, relayOn: false, watts: 0, running: false, driverSuspended: false, immersed: true },
    ]),
  ),
  water: {},
  hands: new Map(),
  reports: new Map(),
  commands: new Map(),
  beforeOff: new Map(),
  wasOff: new Set(),
  suspended: new Map(),
  claims: new Map(),
  seen: new Map(),
  prompts: new Map(),
  upset: null,
  linkLostAt: null,
  downSince: null,
  skewMs: 0,
  lastWord: null,
  handsAsked: null,
  agreed: [],
  startedAt: null,
  endedAt: null,
  abortedAt: null,
  listed: [],
  touched: new Set(),
});

export const copyWorld = (world: World): World => ({
  ...world,
  truth: new Map([...world.truth].map(([id, truth]) => [id, { ...truth }])),
  water: { ...world.water },
  hands: new Map(world.hands),
  reports: new Map([...world.reports].map(([entity, kept]) => [entity, kept.slice()])),
  commands: new Map(world.commands),
  beforeOff: new Map(world.beforeOff),
  wasOff: new Set(world.wasOff),
  suspended: new Map(world.suspended),
  claims: new Map(world.claims),
  seen: new Map(world.seen),
  prompts: new Map(world.prompts),
  touched: new Set(world.touched),
});

export function gistOf(world: World): string {
  const { upset } = world;
  const spoke = upset !== null && world.lastWord !== null && world.lastWord > upset.since;
  return [
    [...world.commands].map(([id, command]) => `${id}${command.turn}`).join(),
    [...world.claims].map(([id, claim]) => `${id}${claim.person}`).join(),
    [...world.seen].map(([id, seen]) => `${id}${seen.what}`).join(),
    [...world.suspended.keys()].join(),
    [...world.wasOff].join(),
    [...world.touched].join(),
    world.agreed.join(),
    world.listed.join(),
    upset === null ? '' : `${upset.what}${upset.needsPerson}${spoke}`,
    world.abortedAt === null ? '' : 'aborted',
    world.handsAsked === null ? '' : 'hands',
  ].join('|');
}

const REPORTS_KEPT = 64;

/** A session is on: between its start and its end. */
export const inSession = (world: World): boolean => world.startedAt !== null && world.endedAt === null;

/** The service can hear and speak. */
export const listening = (world: World): boolean => world.linkLostAt === null && world.downSince === null;

export const factsOf = (world: World, equipment: string): EquipmentFacts => {
  const facts = world.header.equipment[equipment];
  if (facts === undefined) throw new Error(`the trace speaks of ${equipment}, which its header does not name`);
  return facts;
};

export const truthOf = (world: World, equipment: string): Truth => {
  const truth = world.truth.get(equipment);
  if (truth === undefined) throw new Error(`the trace speaks of ${equipment}, which its header does not name`);
  return truth;
};

export const nameOf = (world: World, equipment: string): string => world.header.equipment[equipment]?.name ?? equipment;

/** May draw power and do its work, by truth. */
export const energised = (truth: Truth): boolean => truth.pluggedIn && truth.relayOn;

const lastValue = (world: World, entity: string | undefined): number | null =>
  (entity === undefined ? undefined : world.reports.get(entity)?.at(-1)?.value) ?? null;

/** A word that an earlier upset still waits for is not forgotten for an easier one; one that was given since counts. */
function upsetBy(world: World, what: string, needsPerson: boolean): void {
  const before = world.upset;
  const owed = before?.needsPerson === true && (world.lastWord === null || world.lastWord <= before.since);
  world.upset = { since: world.now, needsPerson: needsPerson || owed, what };
}

function foldCommand(world: World, entry: Extract<TraceEntry, { kind: 'command' }>): void {
  const { equipment, turn, at, origin } = entry;
  if (turn === 'off') {
    if (world.commands.get(equipment)?.turn !== 'off') {
      const facts = factsOf(world, equipment);
      world.beforeOff.set(equipment, {
        watts: lastValue(world, facts.powerEntity),
        effect: lastValue(world, facts.effect?.entity),
      });
    }
    const relay = lastValue(world, factsOf(world, equipment).switchEntity);
    if (!world.commands.has(equipment) && relay === 0) world.wasOff.add(equipment);
    if (origin === 'session') world.touched.add(equipment);
  }
  // A second "off" while the first one stands does not make old proof younger or older: the first one counts.
  if (world.commands.get(equipment)?.turn !== turn) world.commands.set(equipment, { turn, at, origin });
  if (turn === 'on' && world.seen.get(equipment)?.what === 'off') world.seen.delete(equipment);
}

/** Asked to work in the water, or to pull a plug: from then on somebody may have a hand at it. */
const HANDS_AT_IT: ReadonlySet<string> = new Set(['hands-in', 'may-be-unplugged', 'unplug-now']);
/** The question whose answer says that nobody has. */
const HANDS_OUT = '#hands-out';

function foldPerson(world: World, entry: Extract<TraceEntry, { kind: 'person' }>): void {
  if (!entry.accepted) return;
  const { equipment, at, person } = entry;
  if (entry.act === 'claims' && equipment !== undefined) world.claims.set(equipment, { person, at });
  if (entry.act === 'releases' && equipment !== undefined) world.claims.delete(equipment);
  if (entry.act === 'sees' && equipment !== undefined && entry.seen !== undefined)
    world.seen.set(equipment, { what: entry.seen, at });
  if (entry.act === 'aborts' && world.abortedAt === null) world.abortedAt = at;
  if (entry.step === world.handsAsked || entry.step === HANDS_OUT) world.handsAsked = null;
  if (entry.act === 'begins') world.agreed = entry.agreedLifeSupport ?? [];
  if (entry.identified && entry.act !== 'aborts') world.lastWord = at;
}

function foldUpset(world: World, entry: Extract<TraceEntry, { kind: 'link' | 'service' | 'clock-jump' }>): void {
  const { shortGapMs } = world.header.limits;
  if (entry.kind === 'clock-jump') {
    world.skewMs += entry.byMs;
    upsetBy(world, 'a clock jump', Math.abs(entry.byMs) > shortGapMs);
  } else if (entry.kind === 'link') {
    if (entry.state === 'lost') world.linkLostAt ??= entry.at;
    else {
      upsetBy(world, 'a hub loss', world.linkLostAt !== null && entry.at - world.linkLostAt > shortGapMs);
      world.linkLostAt = null;
    }
  } else if (entry.state === 'down') world.downSince ??= entry.at;
  else {
    upsetBy(world, 'a crash', true);
    world.downSince = null;
  }
}

/** Off by other hands than ours, a person's for one: the fall is measured from what it drew until then. */
function foldOtherHand(world: World, { equipment }: ReadingGot): void {
  if (equipment === undefined || world.commands.has(equipment)) return;
  const { powerEntity, effect } = factsOf(world, equipment);
  world.beforeOff.set(equipment, { watts: lastValue(world, powerEntity), effect: lastValue(world, effect?.entity) });
}

/** Kept in the order in which the devices spoke: what arrives late is older than what is known. */
function foldReading(world: World, entry: ReadingGot): void {
  const kept = world.reports.get(entry.entity);
  if (entry.about === 'relay' && entry.value === 0 && kept?.at(-1)?.value === 1) foldOtherHand(world, entry);
  if (kept === undefined) {
    world.reports.set(entry.entity, [entry]);
    return;
  }
  let place = kept.length;
  while (place > 0 && (kept[place - 1]?.reportedAt ?? 0) > entry.reportedAt) place -= 1;
  if (place === kept.length) kept.push(entry);
  else kept.splice(place, 0, entry);
  if (kept.length > REPORTS_KEPT) kept.shift();
}

/** Nothing that the same entity said later has come before it. */
export const isNewest = (world: World, entry: ReadingGot): boolean => world.reports.get(entry.entity)?.at(-1) === entry;

function foldTruth(world: World, entry: Extract<TraceEntry, { kind: 'truth' }>): void {
  const truth = truthOf(world, entry.equipment);
  if (entry.pluggedIn !== undefined) truth.pluggedIn = entry.pluggedIn;
  if (entry.relayOn !== undefined) truth.relayOn = entry.relayOn;
  if (entry.watts !== undefined) truth.watts = entry.watts;
  if (entry.running !== undefined) truth.running = entry.running;
  if (entry.driverSuspended !== undefined) truth.driverSuspended = entry.driverSuspended;
  if (entry.immersed !== undefined) truth.immersed = entry.immersed;
}

/** What is true and known once this entry has happened. */
export function fold(world: World, entry: TraceEntry): void {
  if (entry.at < world.now)
    throw new Error(`the trace runs backwards: ${entry.kind} at ${entry.at} after ${world.now}`);
  world.now = entry.at;
  if (entry.kind === 'truth') foldTruth(world, entry);
  else if (entry.kind === 'water') Object.assign(world.water, entry);
  else if (entry.kind === 'hands') world.hands.set(entry.person, { inWater: entry.inWater, holds: entry.holds });
  else if (entry.kind === 'reading') foldReading(world, entry);
  else if (entry.kind === 'command') foldCommand(world, entry);
  else if (entry.kind === 'person') foldPerson(world, entry);
  else if (entry.kind === 'link' || entry.kind === 'service' || entry.kind === 'clock-jump') foldUpset(world, entry);
  else if (entry.kind === 'driver') {
    if (entry.turn === 'suspend') {
      world.suspended.set(entry.equipment, entry.at);
      world.touched.add(entry.equipment);
    } else world.suspended.delete(entry.equipment);
  } else if (entry.kind === 'said') {
    if (entry.means !== undefined && HANDS_AT_IT.has(entry.means)) world.handsAsked = entry.step ?? '';
    if (entry.nonce !== undefined && !world.prompts.has(entry.nonce)) world.prompts.set(entry.nonce, entry);
  } else if (entry.kind === 'step') {
    if (entry.step === world.handsAsked && entry.result !== 'opened') world.handsAsked = null;
  } else if (entry.kind === 'listed') world.listed = entry.equipment;
  else if (entry.kind === 'started') world.startedAt = entry.at;
  else if (entry.kind === 'ended') world.endedAt ??= entry.at;
}
