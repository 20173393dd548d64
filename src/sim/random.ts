// A small seeded generator whose whole state is one 32-bit number, so that it can live inside plain simulation state.

export type Prng = {
  /** Uniform in [0, 1). */
  next(): number;
  /** Normal with mean 0 and deviation 1. */
  gaussian(): number;
  /** Uniform in [low, high). */
  between(low: number, high: number): number;
  /** What to hand to `prng` to go on from here. */
  state(): number;
};

/** Mulberry32. Not for secrets: everything in the simulated home must come out the same from the same seed. */
export function prng(seed: number): Prng {
  let a = seed >>> 0;
  const next = (): number => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = a;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
  return {
    next,
    gaussian: () => Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next()),
    between: (low, high) => low + (high - low) * next(),
    state: () => a,
  };
}

/** An own stream per name, so that asking one series earlier or later changes no other (FNV-1a over seed and name). */
export function seedFor(seed: number, name: string): number {
  let hash = 0x811c9dc5 ^ (seed >>> 0);
  hash = Math.imul(hash, 0x01000193);
  for (let i = 0; i < name.length; i += 1) {
    hash ^= name.charCodeAt(i);
    hash = Math.imul(hash, 0x01000193);
  }
  hash ^= hash >>> 15;
  hash = Math.imul(hash, 0x2c1b3c6d);
  hash ^= hash >>> 12;
  return hash >>> 0;
}

const ID_LETTERS = '0123456789ABCDEFGHJKMNPQRSTVWXYZ';

/** Text in the manner of the hub's own ids. */
export function idText(random: Prng, length: number): string {
  let text = '';
  for (let i = 0; i < length; i += 1) text += ID_LETTERS[Math.floor(random.next() * ID_LETTERS.length)] ?? '0';
  return text;
}

export function hexText(random: Prng, length: number): string {
  let text = '';
  for (let i = 0; i < length; i += 1) text += Math.floor(random.next() * 16).toString(16);
  return text;
}
