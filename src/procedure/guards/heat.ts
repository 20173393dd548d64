import type { GuardDef } from '../../model/index.ts';
import { formatNumber, HOUR_MS, MINUTE_MS, SECOND_MS } from '../../units/index.ts';
import type { GuardedEquipment, GuardSensor } from './types.ts';
import { sensorsOf, spanText } from './water.ts';
import {
  ask,
  entitiesOf,
  equipmentOf,
  freshValue,
  heardOf,
  lastValue,
  levelSeen,
  recall,
  remember,
  runs,
  type Work,
} from './work.ts';

/** Guards that watch heat and relays: each gives the reason to latch, or null. */

const isThermometer = ({ kind }: GuardSensor): boolean =>
  kind === 'display-temperature' || kind === 'sump-temperature' || kind === 'barrel-temperature';

/** Heat with a low level at once; watts without warming after a while. */
export function dryHeaterReason(work: Work, guard: GuardDef): string | null {
  const one = equipmentOf(work, guard.off[0]);
  if (one === undefined) return null;
  return lowLevelReason(work, guard, one) ?? coldReason(work, guard, one);
}

function lowLevelReason(work: Work, guard: GuardDef, one: GuardedEquipment): string | null {
  const low = lowSensor(work, guard);
  return low !== null && mayHeat(work, one) ? `${one.name} is not reported off and ${low}` : null;
}

/** The sensor that says low, in words; a silent one says nothing. */
export function lowSensor(work: Work, guard: GuardDef): string | null {
  for (const sensor of sensorsOf(work, guard)) {
    if (isThermometer(sensor)) continue;
    if (sensor.kind === 'sump-level') {
      const level = levelSeen(work, guard.id, sensor.id, sensor.entity);
      if (level !== null && guard.belowCm !== undefined && level < guard.belowCm)
        return `${sensor.name} stands at ${formatNumber(level, 1)} cm, below ${formatNumber(guard.belowCm, 1)} cm`;
    } else if ((lastValue(work, sensor.entity) ?? 0) > 0) return `${sensor.name} says low`;
  }
  return null;
}

/** Unknown is never off: only a relay that says so, without watts against it. */
function mayHeat(work: Work, one: GuardedEquipment): boolean {
  return lastValue(work, one.switchEntity) !== 0 || (lastValue(work, one.powerEntity) ?? 0) > work.ctx.settings.offMaxW;
}

const AFTER_MS = 45 * MINUTE_MS;
/** Wh that warm a litre of seawater by a degree: 4.00 kJ/kg/K times 1.023 kg/L. */
const WH_PER_L_C = 1.136;
/** Where nothing was learned, as much as a tank of this kind loses in a cool room; the larger, the fewer false alarms. */
const LOSS_C_PER_H = 0.4;
/** At least so much of the warmth must be seen. */
const SEEN_SHARE = 0.25;
const LEARN_MS = 30 * MINUTE_MS;
const MOST_LOSS_C_PER_H = 2;

/** What the heater puts in must show as warmth, beside what the tank loses by itself; learned while nothing heats. */
function coldReason(work: Work, guard: GuardDef, one: GuardedEquipment): string | null {
  const probe = sensorsOf(work, guard).find(isThermometer);
  const celsius = freshValue(work, probe?.entity, probe?.maxAgeMs ?? 0);
  const state = runs(work, one);
  if (probe !== undefined && (celsius === null || state === 'unknown') && isOnlyOld(work, one, probe)) {
    // What does not change is not told by itself: it is asked for, and the window goes on.
    ask(work, guard.id, [...entitiesOf(one), probe.entity]);
    return null;
  }
  if (probe === undefined || celsius === null || state === 'unknown' || othersHeat(work, one)) {
    forget(work, guard);
    return null;
  }
  const scale = work.ctx.settings.timeFactor;
  const mode = state === 'yes' ? 1 : 0;
  if (recall(work, guard.id, 'heat mode') !== mode) {
    remember(work, guard.id, 'heat mode', mode);
    remember(work, guard.id, 'heat from', work.at);
    remember(work, guard.id, 'heat start', celsius);
  }
  const from = recall(work, guard.id, 'heat from') ?? work.at;
  const change = celsius - (recall(work, guard.id, 'heat start') ?? celsius);
  const hours = ((work.at - from) * scale) / HOUR_MS;
  if (mode === 0) {
    if (work.at - from >= LEARN_MS / scale)
      remember(work, guard.id, 'loss', Math.min(MOST_LOSS_C_PER_H, Math.max(0, -change / hours)));
    return null;
  }
  if (work.at - from < (guard.afterMs ?? AFTER_MS / scale)) return null;
  const watts = lastValue(work, one.powerEntity) ?? 0;
  const wouldWarm = (watts / (WH_PER_L_C * work.ctx.volumeL)) * hours;
  const lost = (recall(work, guard.id, 'loss') ?? LOSS_C_PER_H) * hours;
  if (change + lost >= SEEN_SHARE * wouldWarm) {
    // The window goes on with the water: a heater that falls dry later is seen, too.
    forget(work, guard);
    return null;
  }
  return `${one.name} has drawn ${formatNumber(watts, 0)} W for ${spanText(work, work.at - from)} and ${probe.name} moved by ${formatNumber(change, 1)} °C: it may be dry, or without flow`;
}

const isOnlyOld = (work: Work, one: GuardedEquipment, probe: GuardSensor): boolean =>
  lastValue(work, one.powerEntity) !== null && lastValue(work, probe.entity) !== null;

/** Warmth of another heater in the same water would be taken for its own. */
function othersHeat(work: Work, one: GuardedEquipment): boolean {
  return Object.values(work.ctx.equipment).some(
    (other) => other.id !== one.id && other.role === 'heater' && runs(work, other) !== 'no',
  );
}

function forget(work: Work, guard: GuardDef): void {
  for (const key of ['heat mode', 'heat from', 'heat start']) remember(work, guard.id, key, null);
}

const CONFIRM_MS = 10 * SECOND_MS;
/** Running dry, a pump draws much less than in water. */
const DRY_SHARE = 0.65;
const DRY_MS = 30 * SECOND_MS;
/** A pump just started is not yet at its watts. */
const START_MS = MINUTE_MS;

/** K26: heat only in water that is mixed, the pump only in water. */
export function barrelReason(work: Work, guard: GuardDef): string | null {
  const one = equipmentOf(work, guard.off[0]);
  if (one === undefined) return null;
  const low = lowSensor(work, guard);
  const draws = runs(work, one) === 'yes' || (lastValue(work, one.powerEntity) ?? 0) > work.ctx.settings.offMaxW;
  if (low !== null && draws) return `${one.name} runs and ${low}`;
  return one.role === 'mixing-heater' ? unmixedReason(work, guard, one) : dryPumpReason(work, guard, one);
}

function unmixedReason(work: Work, guard: GuardDef, one: GuardedEquipment): string | null {
  const pump = equipmentOf(work, guard.pump);
  if (pump === undefined || runs(work, one) !== 'yes' || runs(work, pump) === 'yes') {
    remember(work, guard.id, 'unmixed from', null);
    return null;
  }
  const from = recall(work, guard.id, 'unmixed from') ?? work.at;
  remember(work, guard.id, 'unmixed from', from);
  if (from === work.at) ask(work, guard.id, entitiesOf(pump));
  if (work.at - from < CONFIRM_MS / work.ctx.settings.timeFactor) return null;
  const watts = formatNumber(lastValue(work, one.powerEntity) ?? 0, 0);
  return `${one.name} draws ${watts} W and ${pump.name} is not proved to run: the barrel may be empty, or not mixed`;
}

function dryPumpReason(work: Work, guard: GuardDef, one: GuardedEquipment): string | null {
  const scale = work.ctx.settings.timeFactor;
  const normal = one.normalPowerW;
  const watts = freshValue(work, one.powerEntity, work.ctx.settings.freshMs);
  if (normal === undefined || watts === null) return null;
  if (watts <= work.ctx.settings.offMaxW) {
    for (const key of ['pump from', 'dry from']) remember(work, guard.id, key, null);
    return null;
  }
  if (recall(work, guard.id, 'pump from') === null) remember(work, guard.id, 'pump from', work.at);
  const started = recall(work, guard.id, 'pump from') ?? work.at;
  if (watts >= DRY_SHARE * normal || work.at - started < START_MS / scale) {
    remember(work, guard.id, 'dry from', null);
    return null;
  }
  const from = recall(work, guard.id, 'dry from') ?? work.at;
  remember(work, guard.id, 'dry from', from);
  if (work.at - from < DRY_MS / scale) return null;
  return `${one.name} draws ${formatNumber(watts, 0)} W instead of ${formatNumber(normal, 0)} W: it may run dry`;
}

const GRACE_MS = 10 * SECOND_MS;
const WELDED_READINGS = 2;
const ASK_FOR_MS = 5 * MINUTE_MS;

/** The relay says off and two reports of watts, both later than any delay of the plug explains, say otherwise. */
export function weldedReason(work: Work, guard: GuardDef): string | null {
  const one = equipmentOf(work, guard.off[0]);
  if (one === undefined) return null;
  const relay = lastValue(work, one.switchEntity);
  if (relay !== null && relay > 0) for (const key of ['off at', 'hot']) remember(work, guard.id, key, null);
  if (relay === 0 && recall(work, guard.id, 'off at') === null) remember(work, guard.id, 'off at', work.at);
  const offAt = recall(work, guard.id, 'off at');
  const grace = GRACE_MS / work.ctx.settings.timeFactor + one.switchDelayMs;
  const watts = heardOf(work, one.powerEntity) ? lastValue(work, one.powerEntity) : null;
  // Watts that do not change are not told by themselves: the plug is asked.
  const mayBeHot = (lastValue(work, one.powerEntity) ?? 0) > work.ctx.settings.offMaxW;
  const sinceMs = offAt === null ? 0 : work.at - offAt;
  if (watts === null && mayBeHot && sinceMs >= grace && sinceMs < ASK_FOR_MS / work.ctx.settings.timeFactor)
    ask(work, guard.id, entitiesOf(one));
  if (offAt === null || watts === null || work.at - offAt < grace) return null;
  if (watts <= work.ctx.settings.offMaxW) {
    remember(work, guard.id, 'hot', null);
    return null;
  }
  const hot = (recall(work, guard.id, 'hot') ?? 0) + 1;
  remember(work, guard.id, 'hot', hot);
  if (hot < WELDED_READINGS) {
    ask(work, guard.id, entitiesOf(one));
    return null;
  }
  return `${one.name} reports off and still draws ${formatNumber(watts, 0)} W: its relay may be welded. Pull its plug with dry hands`;
}
