// All detectors over one tank, minute by minute. What they remember is plain data, so that a service can stop and go on.
import type { EntityId } from '../model/index.ts';
import type { MinutePower } from '../observe/index.ts';
import { DAY_MS, type InstantMs, MINUTE_MS } from '../units/index.ts';
import { type Book, type BookMemory, createBook } from './book.ts';
import type { Drifted } from './drift.ts';
import { createHeat, type Heat, type HeatMemory, newHeat } from './heat.ts';
import { createLevel, type Level, type LevelMemory, newLevel } from './level.ts';
import { createLight, type Light, type LightMemory, newLight } from './light.ts';
import { createRo, newRo, type Ro, type RoMemory } from './ro.ts';
import { createScene, newScene, type Scene, type SceneMemory } from './scene.ts';
import { judgeDays } from './steady.ts';
import { createTopOff, newTopOff, type TopOff, type TopOffMemory } from './top-off.ts';
import type { ConditionBatch, ConditionSetup, Finding, ServiceMark, WatchedEquipment } from './types.ts';
import { createWatts, newWatts, type Watts, type WattsMemory } from './watts.ts';

/** Everything remembered between batches; safe to store as JSON. */
export type ConditionMemory = {
  v: 1;
  /** All before was taken; null before the first batch. */
  takenTo: InstantMs | null;
  scene: SceneMemory;
  watts: Record<string, WattsMemory>;
  light: Record<string, LightMemory>;
  heat: HeatMemory;
  topOff: TopOffMemory;
  level: LevelMemory;
  ro: RoMemory;
  book: BookMemory;
};

export const newCondition = (): ConditionMemory => ({
  ...{ v: 1, takenTo: null, scene: newScene(), watts: {}, light: {}, heat: newHeat(), topOff: newTopOff() },
  ...{ level: newLevel(), ro: newRo(), book: {} },
});

export type Monitor = {
  take(batch: ConditionBatch): readonly Finding[];
  findings(): readonly Finding[];
  /** The live memory, not a copy: clone it to keep it. */
  readonly memory: ConditionMemory;
};

type Watched = {
  readonly equipment: WatchedEquipment;
  readonly watts: Watts;
  readonly light: Light | null;
};

type Parts = {
  readonly setup: ConditionSetup;
  readonly memory: ConditionMemory;
  readonly book: Book;
  readonly scene: Scene;
  readonly watched: readonly Watched[];
  readonly heat: Heat;
  readonly topOff: TopOff | null;
  readonly level: Level;
  readonly ro: Ro;
  readonly bySwitch: ReadonlyMap<EntityId, Watched>;
  readonly roles: {
    readonly pump: string | undefined;
    readonly topOff: string | undefined;
    readonly ro: string | undefined;
  };
};

/** `memory` is taken over and changed in place. */
export function createMonitor(setup: ConditionSetup, memory: ConditionMemory = newCondition()): Monitor {
  const parts = assemble(setup, memory);
  return {
    memory,
    findings: () => parts.book.all(),
    take(batch) {
      const marks = queue([...(batch.services ?? [])].sort((a, b) => a.at - b.at));
      const observations = queue([...batch.observations].sort((a, b) => a.at - b.at));
      const first = firstMinute(memory, batch);
      const { streams, silentHeater } = streamsOf(parts, batch);
      for (let at = first; at + MINUTE_MS <= batch.until; at += MINUTE_MS) {
        const day = Math.floor(at / DAY_MS);
        if (at % DAY_MS === 0) endDay(parts, day - 1);
        const end = at + MINUTE_MS;
        for (const mark of marks.upTo(end)) relearn(parts, mark);
        for (const one of observations.upTo(end)) if (one.at >= at) observed(parts, one.entity, one.at, one.value);
        minuteOf(parts, at, streams, silentHeater);
        memory.takenTo = at + MINUTE_MS;
      }
      return parts.book.news();
    },
  };
}

/** The same without changing what is handed in: the memory after the batch, what is open, and what is new in it. */
export function takeCondition(
  setup: ConditionSetup,
  memory: ConditionMemory,
  batch: ConditionBatch,
): { readonly memory: ConditionMemory; readonly findings: readonly Finding[]; readonly news: readonly Finding[] } {
  const monitor = createMonitor(setup, structuredClone(memory));
  const news = monitor.take(batch);
  return { memory: monitor.memory, findings: monitor.findings(), news };
}

/** What is open at the end of a record that is given whole. */
export const detect = (setup: ConditionSetup, record: ConditionBatch): readonly Finding[] =>
  takeCondition(setup, newCondition(), record).findings;

type Timed = { readonly at: InstantMs };

/** Takes from the front what lies before a moment. */
function queue<T extends Timed>(sorted: readonly T[]): { upTo(end: InstantMs): readonly T[] } {
  let next = 0;
  const nothing: readonly T[] = [];
  return {
    upTo(end) {
      const from = next;
      while ((sorted[next]?.at ?? end) < end) next += 1;
      return next === from ? nothing : sorted.slice(from, next);
    },
  };
}

function firstMinute(memory: ConditionMemory, batch: ConditionBatch): InstantMs {
  if (memory.takenTo !== null) return memory.takenTo;
  let first = batch.until;
  for (const { minutes } of batch.minutes) first = Math.min(first, minutes[0]?.minute ?? first);
  for (const { at } of batch.observations) first = Math.min(first, at);
  return first - (first % MINUTE_MS);
}

function assemble(setup: ConditionSetup, memory: ConditionMemory): Parts {
  const book = createBook(setup, memory.book);
  const scene = createScene(setup, memory.scene);
  const idOf = (role: string): string | undefined => setup.equipment.find((one) => one.role === role)?.id;
  const roles = { pump: idOf('return-pump'), topOff: idOf('top-off'), ro: idOf('ro-unit') };
  const lamps = setup.equipment.filter((one) => one.role === 'fluorescent-bank' || one.role === 'led-lamp');
  const lights = new Map<string, Light>();
  for (const equipment of lamps.filter((one) => one.role === 'fluorescent-bank' && setup.sensors.lux !== undefined)) {
    const own = memory.light[equipment.id] ?? newLight();
    memory.light[equipment.id] = own;
    const onEdge = (at: InstantMs): void => {
      for (const [id, light] of lights) if (id !== equipment.id) light.disturbed(at);
    };
    lights.set(equipment.id, createLight({ equipment, memory: own, scene, book, onEdge }));
  }
  const watched = setup.equipment
    .filter((one) => one.power !== null)
    .map((equipment): Watched => {
      const own = memory.watts[equipment.id] ?? newWatts();
      memory.watts[equipment.id] = own;
      return {
        equipment,
        watts: createWatts({ equipment, memory: own, book, scene }),
        light: lights.get(equipment.id) ?? null,
      };
    });
  const heaters = setup.equipment.filter((one) => one.role === 'heater');
  const topOffer = setup.equipment.find((one) => one.id === roles.topOff);
  const flows = (): boolean => roles.pump === undefined || scene.draws(roles.pump) !== false;
  const inService = (): boolean => topOffer === undefined || memory.watts[topOffer.id]?.switchOn !== false;
  const hasFloat = setup.sensors['low-float'] !== undefined;
  return {
    ...{ setup, memory, book, scene, watched, roles },
    heat: createHeat({ setup, memory: memory.heat, scene, book, heaters, flows }),
    topOff:
      topOffer === undefined
        ? null
        : createTopOff({ equipment: topOffer, memory: memory.topOff, scene, book, hasFloat, inService }),
    level: createLevel({ setup, memory: memory.level, scene, book, topOff: roles.topOff }),
    ro: createRo({ setup, memory: memory.ro, book, equipment: roles.ro }),
    bySwitch: new Map(
      watched.flatMap((one) => (one.equipment.switch === null ? [] : [[one.equipment.switch, one] as const])),
    ),
  };
}

function observed(parts: Parts, entity: EntityId, at: InstantMs, value: number | null): void {
  const { setup, scene } = parts;
  const switched = parts.bySwitch.get(entity);
  if (switched !== undefined) {
    switched.watts.switched(at, value);
    return;
  }
  scene.take(entity, at, value);
  if (entity === setup.sensors['sump-level']) parts.level.reading(at);
  else if (entity === setup.sensors['low-float']) parts.topOff?.lowFloat(at, value);
  else {
    parts.heat.reading(entity, value);
    parts.ro.reading(entity, at, value);
  }
}

type Stream = { readonly of: Watched; readonly minutes: readonly MinutePower[]; next: number };

/** Plugs of which this batch tells; the others are not known in all of it. */
function streamsOf(parts: Parts, { minutes }: ConditionBatch): { streams: readonly Stream[]; silentHeater: boolean } {
  const streams: Stream[] = [];
  let silentHeater = false;
  for (const one of parts.watched) {
    const own = minutes.filter(({ entity }) => entity === one.equipment.power).flatMap((told) => told.minutes);
    if (own.length > 0) streams.push({ of: one, minutes: own, next: 0 });
    else {
      unknown(parts, one);
      if (one.equipment.role === 'heater') silentHeater = true;
    }
  }
  return { streams, silentHeater };
}

function unknown(parts: Parts, { equipment, watts }: Watched): void {
  watts.unknownMinute();
  if (equipment.role === 'top-off') parts.topOff?.unknownMinute();
}

function minuteOf(parts: Parts, at: InstantMs, streams: readonly Stream[], silentHeater: boolean): void {
  const { scene, roles, memory } = parts;
  let heatersW: number | null = silentHeater ? null : 0;
  for (const stream of streams) {
    const { equipment, watts, light } = stream.of;
    while ((stream.minutes[stream.next]?.minute ?? at) < at) stream.next += 1;
    const minute = stream.minutes[stream.next];
    if (minute === undefined || minute.minute !== at) {
      unknown(parts, stream.of);
      if (equipment.role === 'heater') heatersW = null;
      continue;
    }
    stream.next += 1;
    watts.minute(minute);
    if (equipment.role === 'heater') {
      if (heatersW !== null) heatersW += minute.meanW;
      parts.heat.heaterMinute(equipment, minute, watts.usualW());
    } else if (equipment.role === 'top-off') parts.topOff?.minute(minute);
    else light?.minute(minute, watts.usualW());
  }
  parts.heat.minute(at, heatersW);
  parts.topOff?.tick(at + MINUTE_MS);
  const toppingOff = roles.topOff === undefined ? false : at - parts.memory.topOff.lastRunAt <= 6 * MINUTE_MS;
  parts.level.minute(at, scene.draws(roles.pump), toppingOff);
  const switchOn = roles.ro === undefined ? null : (memory.watts[roles.ro]?.switchOn ?? null);
  parts.ro.minute(at, scene.draws(roles.ro), switchOn);
}

function endDay(parts: Parts, day: number): void {
  const days = parts.watched.flatMap(({ equipment, watts }) => {
    const drifted: Drifted | null = watts.endDay(day);
    return drifted === null ? [] : [{ equipment, drifted }];
  });
  judgeDays(days, parts.book, day);
  for (const { light, watts } of parts.watched) light?.endDay(day, watts.usualW());
  parts.heat.endDay(day);
  parts.topOff?.endDay(day);
  parts.level.endDay(day);
}

/** A part was serviced or the meter changed: what was learned before is out of date, and what was found of it is done. */
function relearn(parts: Parts, mark: ServiceMark): void {
  const { book, setup } = parts;
  const one = parts.watched.find(({ equipment }) => equipment.id === mark.equipment);
  if (one !== undefined) {
    one.watts.relearn();
    if (mark.what === 'serviced') {
      if (one.light !== null && (mark.part === undefined || mark.part === 'fluorescent-tubes')) one.light.relearn();
      for (const finding of book.all())
        if (finding.equipment === mark.equipment) book.clear(finding.kind, finding.equipment);
    }
    const { role } = one.equipment;
    if (role === 'heater') parts.heat.relearn('heaters');
    if (role === 'ro-unit' && mark.what === 'serviced') parts.ro.relearn(mark.part);
  }
  if (mark.what !== 'serviced') return;
  const isOf = (kinds: readonly string[]): boolean => mark.part !== undefined && kinds.includes(mark.part);
  if (isOf(['top-off-floats']) || (one?.equipment.role === 'top-off' && mark.part === undefined)) {
    parts.topOff?.relearn();
    parts.level.relearn('line');
  }
  if (isOf(['siphon-break-hole', 'check-valve'])) parts.level.relearn('hole');
  if (isOf(['temperature-probe'])) {
    parts.heat.relearn('probes');
    book.clear('probe-disagreement');
  }
  if (
    isOf(['di-resin', 'ro-membrane', 'sediment-cartridge']) &&
    one === undefined &&
    setup.sensors['product-tds'] !== undefined
  )
    parts.ro.relearn(mark.part);
}
