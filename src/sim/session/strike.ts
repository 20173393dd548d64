// Lets a fault of a plug, the link or the tank strike, and undoes it: by itself after its time, or by a person's hand.
import type { EquipmentId } from '../../model/index.ts';
import { type DurationMs, MINUTE_MS, SECOND_MS } from '../../units/index.ts';
import { blip, foreign, noteTruth, setClosed } from './acts.ts';
import type { FaultKind } from './faults.ts';
import { metered } from './telling.ts';
import { look } from './water.ts';
import { type Device, deviceOf, type World } from './world.ts';

export type Struck = {
  readonly kind: FaultKind;
  readonly equipment: EquipmentId | null;
  /** Over: by itself, or put right. */
  isOver: boolean;
  /** What a person who looks does about it; nothing where only time helps. */
  readonly mend: () => void;
};

export type Strike = {
  readonly kind: FaultKind;
  /** Whose plug, whose pump. */
  readonly equipment: EquipmentId | null;
  /** The line is dead, or could be used again: the service finds out in its own time. */
  readonly onLink: (state: 'lost' | 'back') => void;
};

/** Undone after so long; null = only by hand. */
type Undo = { readonly afterMs: DurationMs | null; readonly undo: () => void };

export function strike(world: World, { kind, equipment, onLink }: Strike): Struck {
  const device = equipment === null ? null : deviceOf(world, equipment);
  const done = device === null ? null : strikePlug(world, kind, device);
  const { afterMs, undo } = done ?? strikeLink(world, kind, onLink) ?? strikeTank(world, kind, device) ?? NOTHING;
  const struck: Struck = {
    kind,
    equipment,
    isOver: false,
    mend: () => {
      if (struck.isOver) return;
      struck.isOver = true;
      undo();
    },
  };
  if (afterMs !== null) world.queue.add(world.at + afterMs, struck.mend);
  return struck;
}

const NOTHING: Undo = { afterMs: 0, undo: () => {} };
const byHand = (undo: () => void): Undo => ({ afterMs: null, undo });

function strikePlug(world: World, kind: FaultKind, device: Device): Undo | null {
  const { random } = world;
  switch (kind) {
    case 'sticks':
      device.sticks = true;
      return byHand(() => {
        device.sticks = false;
      });
    case 'parrots':
      device.parrots = true;
      return byHand(() => {
        device.parrots = false;
        device.says = device.closed;
      });
    case 'welds':
      device.welded = true;
      return byHand(() => {
        device.welded = false;
        // A new plug, and it stands as the old one said.
        if (device.closed && !device.says) setClosed(world, device, false, 'person');
      });
    case 'revives':
      if (!device.closed) {
        setClosed(world, device, true, 'itself');
        return byHand(() => setClosed(world, device, false, 'person'));
      }
      device.revivesAfterMs = random.between(15, 60) * SECOND_MS;
      return byHand(() => {
        device.revivesAfterMs = null;
        if (device.closed) setClosed(world, device, false, 'person');
      });
    case 'slow':
      device.slowMs = random.between(20, 40) * SECOND_MS;
      return byHand(() => {
        device.slowMs = 0;
      });
    case 'refuses-once':
    case 'refuses-always':
      device.refusals = kind === 'refuses-once' ? 1 : Number.POSITIVE_INFINITY;
      return byHand(() => {
        device.refusals = 0;
      });
    case 'silent-for-a-while':
    case 'silent-for-good':
      device.isSilent = true;
      return {
        afterMs: kind === 'silent-for-good' ? null : random.between(40, 100) * SECOND_MS,
        undo: () => {
          device.isSilent = false;
          device.nextReportAt = world.at;
        },
      };
    case 'meter-frozen':
    case 'meter-missing':
      device.frozenW = metered(world, device);
      device.meter = kind === 'meter-frozen' ? 'frozen' : 'missing';
      return {
        afterMs: kind === 'meter-frozen' ? null : random.between(40, 100) * SECOND_MS,
        undo: () => {
          device.meter = 'good';
        },
      };
    case 'dead-start':
    case 'mover-stops':
      device.isStuck = true;
      noteTruth(world, device);
      return byHand(() => {
        device.isStuck = false;
        device.onSince = world.at;
        noteTruth(world, device);
      });
    case 'foreign-on':
      foreign(world, device.equipment.id, true);
      return byHand(() => {
        if (device.closed) setClosed(world, device, false, 'person');
      });
    case 'foreign-fight':
      return fight(world, device);
    default:
      return null;
  }
}

/** An automation that wants it on, and says so every 20 s until somebody stops it. */
function fight(world: World, device: Device): Undo {
  let fighting = true;
  const again = (): void => {
    if (!fighting) return;
    foreign(world, device.equipment.id, true);
    world.queue.add(world.at + 20 * SECOND_MS, again);
  };
  again();
  return byHand(() => {
    fighting = false;
    if (device.closed) setClosed(world, device, false, 'person');
  });
}

function strikeLink(world: World, kind: FaultKind, onLink: Strike['onLink']): Undo | null {
  const { random, trouble } = world;
  const forMs = random.between(60, 240) * SECOND_MS;
  switch (kind) {
    case 'hub-gone-short':
    case 'hub-gone-long': {
      if (!world.linkUp) return NOTHING;
      world.linkUp = false;
      onLink('lost');
      const awayMs = kind === 'hub-gone-short' ? random.between(5, 40) * SECOND_MS : random.between(2, 12) * MINUTE_MS;
      return {
        afterMs: awayMs,
        undo: () => onLink('back'),
      };
    }
    case 'hub-restarts':
      return restartHub(world, onLink);
    case 'messages-lost':
      trouble.lostShare = 0.7;
      return {
        afterMs: forMs,
        undo: () => {
          trouble.lostShare = 0.003;
        },
      };
    case 'messages-late':
      trouble.lateMs = 60 * SECOND_MS;
      return {
        afterMs: 2 * forMs,
        undo: () => {
          trouble.lateMs = 0;
        },
      };
    case 'messages-twice':
      trouble.duplicates = true;
      return {
        afterMs: 8 * forMs,
        undo: () => {
          trouble.duplicates = false;
        },
      };
    case 'messages-swapped':
      trouble.swaps = true;
      return {
        afterMs: 8 * forMs,
        undo: () => {
          trouble.swaps = false;
        },
      };
    default:
      return null;
  }
}

/** Its plugs are unknown at first, and its automations are as they were. */
function restartHub(world: World, onLink: Strike['onLink']): Undo {
  if (!world.linkUp) return NOTHING;
  world.linkUp = false;
  world.hubRuns = false;
  onLink('lost');
  return {
    afterMs: world.random.between(30, 180) * SECOND_MS,
    undo: () => {
      world.hubRuns = true;
      for (const [entity, reading] of world.hub) {
        if (world.byEntity.has(entity)) world.hub.set(entity, { ...reading, value: null, changedAt: world.at });
      }
      onLink('back');
      for (const device of world.devices.values())
        device.nextReportAt = world.at + world.random.between(1, 20) * SECOND_MS;
    },
  };
}

function strikeTank(world: World, kind: FaultKind, device: Device | null): Undo | null {
  const { water, sensing, random } = world;
  const probe = [...sensing.probes.values()].find((each) => each.sensor.kind === PROBE_OF[kind]);
  switch (kind) {
    case 'siphon-blocked': {
      const normalL = water.drainDownL;
      water.drainDownL = 3 * normalL;
      return byHand(() => {
        water.drainDownL = normalL;
      });
    }
    case 'leak':
      if (!probe) return NOTHING;
      water.leaks = true;
      probe.forced = 1;
      probe.nextAt = world.at;
      return byHand(() => {
        water.leaks = false;
        probe.forced = 0;
        probe.nextAt = world.at;
      });
    case 'float-stuck':
      water.floatHangs = true;
      return byHand(() => {
        water.floatHangs = false;
        look(water);
      });
    case 'level-frozen':
      if (!probe) return NOTHING;
      probe.frozen = Math.round(water.levelCm * 10) / 10;
      return byHand(() => {
        probe.frozen = null;
      });
    case 'level-silent':
      if (!probe) return NOTHING;
      probe.isSilent = true;
      return {
        afterMs: random.between(90, 200) * SECOND_MS,
        undo: () => {
          probe.isSilent = false;
        },
      };
    case 'probe-drifts':
      if (!probe) return NOTHING;
      probe.drift = 1.5;
      return byHand(() => {
        probe.drift = 0;
      });
    case 'mains-blip':
      blip(world, random.between(1, 20) * SECOND_MS);
      return byHand(() => {
        if (device?.closed) setClosed(world, device, false, 'person');
      });
    default:
      return null;
  }
}

const PROBE_OF: Readonly<Partial<Record<FaultKind, string>>> = {
  leak: 'leak',
  'level-frozen': 'sump-level',
  'level-silent': 'sump-level',
  'probe-drifts': 'display-temperature',
};
