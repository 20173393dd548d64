// Guards and the watch over what is left off, beside the condition: fed with the same reports of a simulated tank.
import type { ConditionBatch } from '../../../src/condition/index.ts';
import { type Config, loadConfig } from '../../../src/config/index.ts';
import type { EntityId } from '../../../src/model/index.ts';
import type { MinutePower, Reading } from '../../../src/observe/index.ts';
import {
  type GuardInput,
  guardContext,
  guardStep,
  leftOffContext,
  leftOffStep,
  NO_GUARDS,
  NOTHING_LEFT_OFF,
} from '../../../src/procedure/guards/index.ts';
import { demoTankYaml } from '../../../src/sim/index.ts';
import { type InstantMs, MINUTE_MS, SECOND_MS } from '../../../src/units/index.ts';
import type { World } from './world.ts';

export type Told = { readonly at: InstantMs; readonly by: 'guard' | 'left-off'; readonly text: string };

/** One guard of each kind, with what it learns by itself where it can. */
export const GUARDS = `
guards:
  water-on-the-floor: { kind: leak, off: [top-off, ro-unit, doser] }
  high-water: { kind: high-level, off: [top-off, ro-unit], above: 31 cm }
  top-off-too-long: { kind: top-off, off: [top-off] }
  relay-welded: { kind: welded-relay, off: [heater-1, heater-2] }
  dry-heater: { kind: dry-heater, off: [heater-1, heater-2], sensors: [sump-level, display-temperature], below: 15 cm }
  barrel-heater: { kind: barrel-dry, off: [mixing-heater] }
  barrel-pump: { kind: barrel-dry, off: [mixing-pump] }
  too-much-water: { kind: ro-litres, off: [ro-unit], litres: 60 L }
  runs-while-off: { kind: flow-while-off, off: [ro-unit] }
`;

export const guardedConfig = (): Config =>
  loadConfig(`${demoTankYaml('http://127.0.0.1:8123')}${GUARDS}`, 'demo-tank.yaml').config;

/** Reports this close to one another are taken together. */
const TOGETHER_MS = 4 * SECOND_MS;
/** A session ends some minutes after the return runs again. */
const AFTER_PAUSE_MS = 4 * MINUTE_MS;
/** In the hands of whoever holds the weekly pause. */
const PAUSED = ['return-pump', 'skimmer', 'top-off'];
/** Reports that nothing in the tank changes: dry, below, under their drivers. */
const STILL: Readonly<Record<EntityId, number>> = {
  ...Object.fromEntries(
    ['leak_cabinet', 'leak_behind_display', 'leak_ro_area', 'leak_mixing', 'leak_doser_tray', 'high_float']
      .concat(['store_low_float', 'barrel_high_float'])
      .map((id) => [`binary_sensor.${id}`, 0]),
  ),
  ...Object.fromEntries(
    ['lamp_bank_1', 'lamp_bank_2', 'led_strip', 'algae_lamp', 'ro_unit', 'mixing_pump', 'mixing_heater'].map((id) => [
      `automation.${id}`,
      1,
    ]),
  ),
  'climate.display': 1,
  'climate.display_cooling': 1,
};

type Report = { readonly at: InstantMs; readonly entity: EntityId; readonly value: number };

/** A minute in which a load began or ended to draw is two reports; any other is one. */
function powerReports(entity: EntityId, { minute, minW, meanW, maxW }: MinutePower): readonly Report[] {
  if (maxW - minW < 2 || minW > 2) return [{ at: minute, entity, value: meanW }];
  const drawnMs = (MINUTE_MS * (meanW - minW)) / (maxW - minW);
  return [
    { at: minute + SECOND_MS, entity, value: maxW },
    { at: minute + SECOND_MS + Math.min(58 * SECOND_MS, drawnMs), entity, value: minW },
  ];
}

export type Protected = { day(batch: ConditionBatch): void; readonly told: readonly Told[] };

export function createProtected(world: World, from: InstantMs): Protected {
  const { tank, guards: defs, rules } = guardedConfig();
  const guardCtx = guardContext(tank, defs, rules);
  const leftCtx = leftOffContext(tank, rules);
  let guards = { ...NO_GUARDS, at: from, hubUp: true };
  let leftOff = { ...NOTHING_LEFT_OFF, at: from, hubUp: true };
  const told: Told[] = [];
  const known = new Map<EntityId, Reading>();
  let due: { readonly at: InstantMs; readonly entities: readonly EntityId[] } | null = null;
  let wasDeaf = false;
  let wasPaused = false;
  let pausedUntil = 0;

  const guard = (input: GuardInput): void => {
    const [next, effects] = guardStep(guards, input, guardCtx);
    guards = next;
    for (const effect of effects) {
      if (effect.kind === 'refresh') due = { at: input.at + 2 * SECOND_MS, entities: effect.entities };
      else if (effect.kind === 'alarm') told.push({ at: input.at, by: 'guard', text: effect.text });
      else if (effect.kind === 'off')
        told.push({ at: input.at, by: 'guard', text: `off: ${effect.equipment} by ${effect.guard}` });
    }
  };
  const left = (input: Parameters<typeof leftOffStep>[1]): void => {
    const [next, effects] = leftOffStep(leftOff, input, leftCtx);
    leftOff = next;
    for (const effect of effects)
      if (effect.kind === 'ask' || effect.kind === 'alarm')
        told.push({ at: input.at, by: 'left-off', text: effect.text });
  };
  /** A plug that is asked says what is true: with its contacts open, or with no float asking, nothing is drawn. */
  const answered = (entity: EntityId): number | undefined => {
    const plug = /^sensor\.(.*)_power$/.exec(entity)?.[1];
    const isOff =
      plug !== undefined &&
      (known.get(`switch.${plug}`)?.value === 0 ||
        (plug === 'top_off' && known.get('binary_sensor.low_float')?.value === 0));
    return isOff ? 0.3 : (known.get(entity)?.value ?? undefined);
  };
  const take = (at: InstantMs, reports: readonly Report[], isMinute: boolean): void => {
    const readings = reports.map(({ entity, value }): Reading => {
      const before = known.get(entity);
      const changedAt = before !== undefined && before.value === value ? before.changedAt : at;
      const reading = { entity, value, changedAt, reportedAt: at };
      known.set(entity, reading);
      return reading;
    });
    guard({ kind: 'readings', at, readings });
    if (isMinute || readings.some(({ entity }) => entity.startsWith('switch.')))
      left({ kind: 'readings', at, readings });
  };
  const answerDue = (upTo: InstantMs): void => {
    while (due !== null && due.at <= upTo) {
      const { at, entities } = due;
      due = null;
      const reports = entities.flatMap((entity): readonly Report[] => {
        const value = answered(entity);
        return value === undefined ? [] : [{ at, entity, value }];
      });
      take(at, reports, false);
    }
  };
  const minute = (at: InstantMs, reports: readonly Report[]): void => {
    const isDeaf = world.isDeaf(at);
    const isBack = wasDeaf && !isDeaf;
    if (isDeaf !== wasDeaf) for (const tell of [guard, left]) tell({ kind: 'hub', at, up: !isDeaf });
    wasDeaf = isDeaf;
    if (world.isPaused(at)) pausedUntil = at + AFTER_PAUSE_MS;
    const isPaused = at < pausedUntil;
    if (isPaused !== wasPaused) {
      guard({ kind: 'session', at, equipment: isPaused ? PAUSED : [] });
      left({ kind: 'busy', at, equipment: isPaused ? PAUSED : [] });
    }
    wasPaused = isPaused;
    if (!isDeaf) {
      // On a fresh connection the hub gives all it knows.
      const given = isBack ? [...known.values()].map(({ entity, value }) => ({ at, entity, value: value ?? 0 })) : [];
      const still = (at / MINUTE_MS) % 60 === 0 ? Object.entries(STILL) : [];
      const whole = reports.filter((one) => one.at <= at);
      take(at, [...given, ...still.map(([entity, value]) => ({ at, entity, value })), ...whole], true);
      const later = Map.groupBy(
        reports.filter((one) => one.at > at),
        (one) => Math.ceil((one.at - at) / TOGETHER_MS),
      );
      for (const bin of [...later.keys()].sort((a, b) => a - b)) {
        const then = at + bin * TOGETHER_MS - 1;
        answerDue(then);
        take(then, later.get(bin) ?? [], false);
      }
      answerDue(at + MINUTE_MS - 1);
    }
    guard({ kind: 'tick', at: at + MINUTE_MS - 1 });
    left({ kind: 'tick', at: at + MINUTE_MS - 1 });
  };
  return {
    told,
    day(batch) {
      const byMinute = new Map<InstantMs, Report[]>();
      const add = (report: Report): void => {
        const start = report.at - (report.at % MINUTE_MS);
        const list = byMinute.get(start);
        if (list === undefined) byMinute.set(start, [report]);
        else list.push(report);
      };
      for (const { entity, minutes } of batch.minutes)
        for (const one of minutes) for (const report of powerReports(entity, one)) add(report);
      for (const { entity, at, value } of batch.observations) if (value !== null) add({ at, entity, value });
      const first = batch.until - 1_440 * MINUTE_MS;
      for (let at = first; at < batch.until; at += MINUTE_MS) minute(at, byMinute.get(at) ?? []);
    },
  };
}
