// What a session keeps in mind beside its visible state. Every key has a number of its own, the same in all sessions of a
// process, and a memory is a row of values by these numbers: copied with each event, it must be cheap to copy.

export type Remembered = number | string | null;
/** Values by the number of their key; what is beyond its end, or null, is not remembered. */
export type Memory = readonly Remembered[];
/** A key by its name, or by the number that `keyOf` gives. */
export type Key = string | number;

const names: string[] = [];
const numbers = new Map<string, number>();
/** Keys that are forgotten when the next step opens. */
const ofStep: number[] = [];
const STEP_SCOPE = 's.';

function numberOf(name: string): number {
  let number = numbers.get(name);
  if (number === undefined) {
    number = names.length;
    names.push(name);
    numbers.set(name, number);
    if (name.startsWith(STEP_SCOPE)) ofStep.push(number);
  }
  return number;
}

const nameOfKey = (key: Key): string => (typeof key === 'string' ? key : (names[key] ?? ''));

const families = new Map<string, Map<Key, number>>();
/** The key of one equipment, `offAt.skimmer`. Kept: building the same text anew for each look is what costs most. */
export function keyOf(what: string, of: Key): number {
  let family = families.get(what);
  if (family === undefined) {
    family = new Map();
    families.set(what, family);
  }
  let key = family.get(of);
  if (key === undefined) {
    key = numberOf(`${what}.${nameOfKey(of)}`);
    family.set(of, key);
  }
  return key;
}

export const NOTHING_REMEMBERED: Memory = [];

export function recalled(memory: Memory, key: Key): Remembered {
  const number = typeof key === 'number' ? key : numbers.get(key);
  return number === undefined ? null : (memory[number] ?? null);
}

/** Writes into a memory that nobody else holds. */
export function write(memory: Remembered[], key: Key, value: Remembered): void {
  const number = typeof key === 'number' ? key : numberOf(key);
  while (memory.length < number) memory.push(null);
  memory[number] = value;
}

export function forgetStep(memory: Remembered[]): void {
  for (const number of ofStep) if (number < memory.length) memory[number] = null;
}

/** Everything that goes by this name, of whatever it is. */
export function forgetFamily(memory: Remembered[], what: string): void {
  const start = `${what}.`;
  for (const [number, name] of names.entries())
    if (number < memory.length && name.startsWith(start)) memory[number] = null;
}

export const sameMemory = (a: Memory, b: Memory): boolean => {
  if (a === b) return true;
  const length = Math.max(a.length, b.length);
  for (let i = 0; i < length; i++) if ((a[i] ?? null) !== (b[i] ?? null)) return false;
  return true;
};

/** A memory with every value changed by its key. */
export const mapMemory = (memory: Memory, change: (name: string, value: Remembered) => Remembered): Memory =>
  memory.map((value, number) => change(names[number] ?? '', value));

/** What is remembered, by name. */
export const memoryEntries = (memory: Memory): readonly (readonly [name: string, value: number | string])[] =>
  memory.flatMap((value, number) => (value === null ? [] : [[names[number] ?? '', value] as const]));
