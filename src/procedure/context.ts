import type { EntityId, Equipment, EquipmentId, RoleId, Sensor, Tank } from '../model/index.ts';
import { ROLES, type RuleOverrides, ruleSetting } from '../rules/index.ts';
import { type DurationMs, type PowerW, SECOND_MS } from '../units/index.ts';
import type { EngineContext, EngineSettings, SessionPlan } from './types.ts';

/** A press within this time of a step's appearing is a reflex, not an answer. */
const CONFIRM_DELAY_MS = 2 * SECOND_MS;
const REFRESH_MS = 2 * SECOND_MS;
/** Smallest change of the level that counts as an effect where nothing has been learned. */
const UNLEARNED_EFFECT_CM = 1;
/** Share of the learned change that must be seen. */
const EFFECT_SHARE = 0.3;

export function engineSettings(overrides: RuleOverrides, timeFactor = 1): EngineSettings {
  return {
    proofReadings: ruleSetting(overrides, 'K18', 'readings'),
    proofSpanMs: ruleSetting(overrides, 'K18', 'spanMs'),
    wattsOffMaxW: ruleSetting(overrides, 'K18', 'wattsMax'),
    wattsOffShare: ruleSetting(overrides, 'K18', 'wattsShare'),
    wattsOnTolerance: ruleSetting(overrides, 'K19', 'tolerance'),
    wattsOnForMs: ruleSetting(overrides, 'K19', 'forMs'),
    freshMs: ruleSetting(overrides, 'K20', 'maxAgeMs'),
    confirmDelayMs: CONFIRM_DELAY_MS,
    steadyForMs: ruleSetting(overrides, 'K9', 'steadyForMs'),
    steadyBandCm: ruleSetting(overrides, 'K9', 'steadyBandCm'),
    retries: ruleSetting(overrides, 'K35', 'retries'),
    retriesOn: ruleSetting(overrides, 'K19', 'retries'),
    staggerMs: ruleSetting(overrides, 'K22', 'staggerMs'),
    riseShare: ruleSetting(overrides, 'K9', 'riseShare'),
    headRoomFactor: ruleSetting(overrides, 'K10', 'factor'),
    markBandCm: ruleSetting(overrides, 'K23', 'markCm'),
    flowMs: ruleSetting(overrides, 'K5', 'flowMs'),
    probeGapC: ruleSetting(overrides, 'K5', 'probeGapC'),
    hubGapMs: ruleSetting(overrides, 'K21', 'gapMs'),
    claimRemindMs: ruleSetting(overrides, 'K17', 'remindMs'),
    allStop: {
      warnMs: ruleSetting(overrides, 'K16', 'warnMs'),
      alarmMs: ruleSetting(overrides, 'K16', 'alarmMs'),
      hardMs: ruleSetting(overrides, 'K16', 'hardMs'),
    },
    claimWattsW: ruleSetting(overrides, 'K30', 'wattsMax'),
    claimWattsForMs: ruleSetting(overrides, 'K30', 'forMs'),
    wrongCordMs: ruleSetting(overrides, 'K30', 'wrongCordMs'),
    answerMs: ruleSetting(overrides, 'K35', 'answerMs'),
    refreshMs: REFRESH_MS,
    timeFactor,
  };
}

export const DEFAULT_ENGINE_SETTINGS: EngineSettings = engineSettings({});

/** Static facts of the tank that the engine looks up while running. */
export function engineContext(
  tank: Tank,
  overrides: RuleOverrides = {},
  deputies: Readonly<Record<string, string>> = {},
  timeFactor = 1,
): EngineContext {
  const level = sensorOf(tank, 'sump-level');
  const rim = tank.sump?.rimLevelCm;
  const drainDownL = tank.sump?.drainDownL;
  return {
    settings: engineSettings(overrides, timeFactor),
    equipment: Object.fromEntries(tank.equipment.map((each) => [each.id, equipmentFacts(each, tank)])),
    ...(level ? { sumpLevelEntity: level.entity } : {}),
    ...(tank.sump ? { sumpLitresPerCm: tank.sump.litresPerCm } : {}),
    ...(drainDownL !== undefined ? { drainDownL } : {}),
    ...(rim !== undefined ? { sumpRimCm: rim } : {}),
    temperatureEntities: tank.sensors
      .filter((sensor) => sensor.kind === 'display-temperature' || sensor.kind === 'sump-temperature')
      .map((sensor) => sensor.entity),
    wetEntities: tank.sensors
      .filter((sensor) => sensor.kind === 'leak' || sensor.kind === 'high-float')
      .map((sensor) => sensor.entity),
    deputies,
  };
}

type EquipmentFacts = EngineContext['equipment'][EquipmentId];

function equipmentFacts(each: Equipment, tank: Tank): EquipmentFacts {
  const level = sensorOf(tank, 'sump-level');
  const driverEntity = driverEntityOf(each);
  const { maxOffMs, warnOffMs } = ROLES[each.role];
  return {
    name: each.name,
    role: each.role,
    cycling: each.cycling,
    ...(each.switchEntity !== undefined ? { switchEntity: each.switchEntity } : {}),
    ...(each.powerEntity !== undefined ? { powerEntity: each.powerEntity } : {}),
    ...(each.normalPowerW !== undefined ? { normalPowerW: each.normalPowerW } : {}),
    ...(driverEntity !== undefined ? { driverEntity } : {}),
    ...(maxOffMs !== null ? { maxOffMs } : {}),
    ...(warnOffMs !== undefined ? { warnOffMs } : {}),
    offAgain: sentOffAgain(each.role),
    inSump: each.inSump,
    driven: each.driver.kind === 'schedule' || each.driver.kind === 'thermostat',
    decidesItself: each.driver.kind === 'own-controller',
    ...(each.quickDisconnect === true ? { quickDisconnect: true } : {}),
    ...(level && ROLES[each.role].stopEffects.includes('sump-level')
      ? { effect: { entity: level.entity, onStop: 'rises', atLeast: effectCm(tank) } as const }
      : {}),
  };
}

/** What adds or heats does harm by the minute where it must be off; of anything else a person finds out first. */
const sentOffAgain = (role: RoleId): boolean => (ROLES[role].adder || ROLES[role].heats) && !ROLES[role].waterMover;

function effectCm(tank: Tank): number {
  const rise = learnedRiseCm(tank.sump?.drainDownL, tank.sump?.litresPerCm);
  return rise === null ? UNLEARNED_EFFECT_CM : Math.max(0.3, rise * EFFECT_SHARE);
}

/** How far the sump rises when the return stops; null = unlearned. */
export function learnedRiseCm(drainDownL: number | undefined, litresPerCm: number | undefined): number | null {
  if (drainDownL === undefined || litresPerCm === undefined || litresPerCm <= 0) return null;
  return drainDownL / litresPerCm;
}

export const sensorOf = (tank: Tank, kind: Sensor['kind']): Sensor | undefined =>
  tank.sensors.find((sensor) => sensor.kind === kind);

export const driverEntityOf = (each: Equipment): string | undefined =>
  each.driver.kind === 'schedule' || each.driver.kind === 'thermostat' ? each.driver.entity : undefined;

/** Every entity whose readings a session may need: all of them must reach the engine. */
export function entitiesOf(ctx: EngineContext, plan?: SessionPlan): ReadonlySet<EntityId> {
  const ofEquipment = Object.values(ctx.equipment).flatMap((each) => [
    each.switchEntity,
    each.powerEntity,
    each.driverEntity,
    each.effect?.entity,
  ]);
  const all = [...ofEquipment, ctx.sumpLevelEntity, ...ctx.temperatureEntities, ...ctx.wetEntities];
  for (const step of plan?.steps ?? []) all.push(step.observe?.entity, step.reading?.entity);
  return new Set(all.filter((entity) => entity !== undefined));
}

/** Every duration of the rules is a real one; a test on a live hub may run the engine's clock faster. */
export const scaled = (ms: DurationMs, ctx: EngineContext): DurationMs => ms / ctx.settings.timeFactor;

/** K18: below max(1 W, 5 % of normal), never above 2 W. */
export function offLimitW(normalPowerW: PowerW | undefined, settings: EngineSettings): PowerW {
  return Math.min(settings.wattsOffMaxW, Math.max(1, (normalPowerW ?? 0) * settings.wattsOffShare));
}
