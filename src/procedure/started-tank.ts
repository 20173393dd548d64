import type { EngineContext, StartedTank } from './types.ts';

/** What a session keeps of the tank it was started on. */
export function startedTank({ settings: _, ...facts }: EngineContext): StartedTank {
  return facts;
}

const WORDS: Readonly<Record<string, string>> = {
  name: 'name',
  role: 'role',
  switchEntity: 'switch',
  powerEntity: 'power reading',
  normalPowerW: 'normal watts',
  cycling: 'whether it draws watts only now and then',
  inSump: 'whether it stands in the sump',
  driven: 'whether something drives it',
  quickDisconnect: 'quick-disconnect',
  driverEntity: 'driver',
  maxOffMs: 'how long it may be off',
  offAgain: 'whether it is told off again',
  effect: 'effect of its stop',
  sumpLevelEntity: 'sensor of the sump level',
  sumpLitresPerCm: 'litres per cm of the sump',
  drainDownL: 'drain-down',
  sumpRimCm: 'rim of the sump',
  temperatureEntities: 'temperature sensors',
  wetEntities: 'leak and high-level sensors',
  deputies: 'deputies',
};

/** What is configured otherwise now than when the session was started, in words; empty = nothing it rests on. */
export function differingFacts(then: StartedTank, now: StartedTank): readonly string[] {
  const { equipment: old, ...oldRest } = then;
  const { equipment: fresh, ...freshRest } = now;
  const ids = [...new Set([...Object.keys(old), ...Object.keys(fresh)])];
  return [
    ...ids.flatMap((id) => {
      const [was, is] = [old[id], fresh[id]];
      if (was === undefined) return [`${is?.name ?? id} is new`];
      if (is === undefined) return [`${was.name} is no longer configured`];
      return differences(was, is).map((text) => `${was.name}: ${text}`);
    }),
    ...differences(oldRest, freshRest),
  ];
}

function differences(was: object, is: object): string[] {
  const [old, fresh] = [new Map(Object.entries(was)), new Map(Object.entries(is))];
  return [...new Set([...old.keys(), ...fresh.keys()])].flatMap((key) => {
    const [before, after] = [shown(old.get(key)), shown(fresh.get(key))];
    return before === after ? [] : [`${WORDS[key] ?? key} ${before}, now ${after}`];
  });
}

/** The same for the same content, in whatever order its keys were written. */
function shown(value: unknown): string {
  if (value === undefined || value === null) return 'none';
  if (Array.isArray(value)) return value.length === 0 ? 'none' : value.map(shown).join(' and ');
  if (typeof value !== 'object') return String(value);
  const pairs = Object.entries(value).map(([key, each]) => `${key} ${shown(each)}`);
  return pairs.length === 0 ? 'none' : pairs.sort().join(', ');
}
