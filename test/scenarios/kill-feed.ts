import type { CounterState } from '../../src/count/index.ts';
import type { CounterDef, EntityId, PartLife } from '../../src/model/index.ts';
import type { Observation } from '../../src/observe/index.ts';
import type { Standing } from '../../src/remind/index.ts';

// The world of the kill scenario: five sources that misbehave, invented, the same for parent and child from one seed.

export const KILL_DEFS: readonly CounterDef[] = [
  {
    id: 'lamp',
    name: 'Lamp',
    source: { kind: 'on-state', entity: 'switch.lamp' },
    measures: ['on-hours', 'starts'],
  },
  {
    id: 'pump',
    name: 'Pump',
    source: {
      kind: 'power-threshold',
      entity: 'sensor.pump_power',
      onAboveW: 10,
      offBelowW: 5,
      minOnMs: 30_000,
      minOffMs: 60_000,
    },
    measures: ['on-hours', 'starts'],
  },
  {
    id: 'pump-energy',
    name: 'Pump energy',
    source: { kind: 'held-power', entity: 'sensor.pump_power', maxHoldMs: 300_000, maxPowerW: 60 },
    measures: ['energy'],
  },
  {
    id: 'water',
    name: 'Water',
    source: { kind: 'total', entity: 'sensor.water', unitsPerReading: 1, maxPerHour: 120 },
    measures: ['litres'],
  },
  {
    id: 'feed-water',
    name: 'Feed water',
    source: { kind: 'runtime-rate', entity: 'switch.ro', litresPerHour: 18.9 },
    measures: ['litres'],
  },
  {
    id: 'pulses',
    name: 'Pulses',
    source: { kind: 'pulses', entity: 'sensor.pulses', litresPerPulse: 1 / 330 },
    measures: ['litres'],
  },
];

const START = Date.UTC(2026, 2, 1);

/** Repeatable whole numbers in [0, below). */
export function dice(seed: number): (below: number) => number {
  let state = (seed ^ 0x9e37_79b9) >>> 0;
  return (below) => {
    state = (state + 0x6d2b_79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) % below;
  };
}

type Source = { readonly entity: EntityId; readonly next: (roll: (below: number) => number) => number | null };

/** Meters run up, fall to zero for one reading, begin again, and jump; every source has gaps and repeats itself. */
function sources(): readonly Source[] {
  const toggle = (): Source['next'] => {
    let on = 0;
    return (roll) => {
      if (roll(5) > 0) on = 1 - on;
      return on;
    };
  };
  const meter = (step: number, digits: number): Source['next'] => {
    let reading = 200;
    return (roll) => {
      const luck = roll(40);
      if (luck === 0) return 0;
      if (luck === 1) return reading + 5_000;
      if (luck === 2) reading = 0;
      reading += roll(step) / digits;
      return Math.round(reading * digits) / digits;
    };
  };
  return [
    { entity: 'switch.lamp', next: toggle() },
    { entity: 'switch.ro', next: toggle() },
    { entity: 'sensor.pump_power', next: (roll) => (roll(3) === 0 ? roll(20) / 10 : 35 + roll(90) / 10) },
    { entity: 'sensor.water', next: meter(300, 1_000) },
    { entity: 'sensor.pulses', next: meter(20, 1) },
  ];
}

export function killFeed(seed: number, rows: number): readonly Observation[] {
  const roll = dice(seed);
  const all = sources();
  const clocks = all.map(() => START);
  const feed: Observation[] = [];
  for (let row = 0; row < rows; row++) {
    // The source whose clock is furthest behind speaks next, so the feed comes in order of time.
    const index = clocks.indexOf(Math.min(...clocks));
    const source = all[index];
    const at = (clocks[index] ?? START) + 1 + roll(roll(20) === 0 ? 1_200_000 : 60_000);
    clocks[index] = at;
    if (source === undefined) continue;
    const value = source.next(roll);
    const gap = roll(25) === 0;
    feed.push({ entity: source.entity, value: gap ? null : value, at, receivedAt: at, origin: 'live' });
  }
  return feed.sort((a, b) => a.at - b.at || (a.entity < b.entity ? -1 : 1));
}

/** A part falls due at each of these lamp hours, all along the feed. */
export const KILL_LIMITS: readonly number[] = Array.from({ length: 40 }, (_, index) => (index + 1) / 2);

export const partAt = (limit: number): string => `lamp set ${limit} h`;

export const noLives: ReadonlyMap<string, PartLife> = new Map();

export function standingsOf(lamp: CounterState | undefined): readonly Standing[] {
  const best = lamp?.amounts['on-hours']?.best ?? 0;
  return KILL_LIMITS.map((limit): Standing => {
    const part = partAt(limit);
    return {
      part,
      name: part,
      word: best >= limit ? 'due' : 'fine',
      reason: `${best} h of ${limit} h`,
      measure: 'on-hours',
      used: null,
      limit,
      share: best / limit,
      reachedAt: null,
      putOffUntil: null,
      all: [],
    };
  });
}
