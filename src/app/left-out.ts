import { nearest, problem } from '../errors/index.ts';
import type { Actor, EntityId, EquipmentId } from '../model/index.ts';
import type { Reading } from '../observe/index.ts';
import type { StorePort, System } from '../ports/index.ts';
import {
  asStarted,
  driverShows,
  driverTells,
  type EngineContext,
  leftBehind,
  offLimitW,
  type SessionState,
} from '../procedure/index.ts';
import { actorName } from '../record/index.ts';
import type { InstantMs } from '../units/index.ts';

/** One equipment a session left off, or its driver suspended, when it ended. */
export type LeftOut = {
  readonly equipment: EquipmentId;
  readonly since: InstantMs;
  /** Of the session that left it. */
  readonly title: string;
  /** Hub entity that is still suspended for it. */
  readonly driver?: EntityId;
};

export type LeftOutList = {
  list(): readonly LeftOut[];
  /** A session changed: what it leaves when it ends goes on the list, what it brought back comes off. */
  session(state: SessionState): void;
  /** Whatever is seen running again is off the list. */
  readings(readings: readonly Reading[]): void;
  /** The word of a person for what nothing reports. */
  back(equipment: string, by: Actor): void;
};

/** Kept in the store: forgotten gear is listed until each is back, through every restart of ours. */
export const LEFT_OUT = 'left-out';

type Kept = { readonly lastSession: string; readonly left: readonly LeftOut[] };
const OVER: readonly SessionState['status'][] = ['complete', 'stopped', 'aborted'];

export function createLeftOut(deps: {
  readonly store: Pick<StorePort, 'setting' | 'putSetting'>;
  readonly system: System;
  readonly ctx: EngineContext;
  readonly onChange: () => void;
}): LeftOutList {
  const { store, system, ctx, onChange } = deps;
  const seen = new Map<EntityId, Reading>();
  let claimed: readonly EquipmentId[] = [];
  let kept = load(store.setting(LEFT_OUT));
  const nameOf = (id: EquipmentId): string => ctx.equipment[id]?.name ?? id;
  const keep = (next: Kept): void => {
    const isChanged = JSON.stringify(next) !== JSON.stringify(kept);
    kept = next;
    if (!isChanged) return;
    store.putSetting(LEFT_OUT, JSON.stringify(next));
    onChange();
  };
  const drop = (gone: readonly LeftOut[], how: string): void => {
    if (gone.length === 0) return;
    system.log.info(`back: ${gone.map((one) => nameOf(one.equipment)).join(', ')} (${how})`);
    keep({ ...kept, left: kept.left.filter((one) => !gone.includes(one)) });
  };
  return {
    list: () => kept.left,
    session: (state) => {
      claimed = state.claims.map((claim) => claim.equipment);
      if (!OVER.includes(state.status) || kept.lastSession === state.id) return;
      const back = broughtBack(state);
      const { title } = state.plan;
      const since = state.endedAt ?? state.startedAt;
      const now = leftBehind(state, asStarted(state, ctx)).map((one) => ({ ...one, since, title }));
      const older = kept.left.filter(
        (one) => !back.includes(one.equipment) && !now.some((each) => each.equipment === one.equipment),
      );
      keep({ lastSession: state.id, left: [...older, ...now] });
    },
    readings: (readings) => {
      if (kept.left.length === 0) return;
      for (const reading of readings) seen.set(reading.entity, reading);
      drop(
        kept.left.filter((one) => !claimed.includes(one.equipment) && isBack(one, ctx, seen)),
        'seen running',
      );
    },
    back: (equipment, by) => {
      if (by.kind !== 'person') throw problem('SW-SES-007', { what: 'saying that something is back' });
      const one = kept.left.find((each) => each.equipment === equipment);
      if (one === undefined) throw unknownLeft(equipment, kept.left);
      drop([one], `says ${actorName(by)}`);
    },
  };
}

function unknownLeft(found: string, left: readonly LeftOut[]) {
  const known = left.map((one) => one.equipment);
  const near = nearest(found, known);
  return problem('SW-SES-020', {
    found,
    known: known.length === 0 ? 'nothing' : known.join(', '),
    hint: near === null ? 'Name one of those.' : `Did you mean "${near}"?`,
  });
}

const broughtBack = (state: SessionState): readonly EquipmentId[] =>
  state.plan.steps.flatMap((step, index) => {
    const result = state.records[index]?.result;
    const isBack = step.action === 'switch-on' && (result === 'passed' || result === 'passed-unproven');
    return isBack && step.equipment !== undefined && !state.offNow.includes(step.equipment) ? [step.equipment] : [];
  });

/** Its switch says on, its watts agree where they tell anything, and its driver is active where that shows; all of it since. */
function isBack(one: LeftOut, ctx: EngineContext, seen: ReadonlyMap<EntityId, Reading>): boolean {
  const facts = ctx.equipment[one.equipment];
  if (facts === undefined) return true;
  const since = (entity: EntityId | undefined): Reading | undefined => {
    const reading = entity === undefined ? undefined : seen.get(entity);
    return reading !== undefined && reading.reportedAt > one.since ? reading : undefined;
  };
  if (one.driver !== undefined && !isActive(one.driver, since(one.driver))) return false;
  // Under a driver that says it is at work again, off is the driver's business.
  if (one.driver !== undefined && driverTells(one.driver)) return (since(facts.switchEntity)?.value ?? null) !== null;
  const relay = since(facts.switchEntity)?.value ?? null;
  const watts = since(facts.powerEntity)?.value ?? null;
  const draws = watts !== null && watts > offLimitW(facts.normalPowerW, ctx.settings);
  if (facts.switchEntity === undefined) return draws;
  if (relay === null || relay === 0) return false;
  return facts.powerEntity === undefined || facts.cycling || draws;
}

/** Of a driver that never tells, its equipment's own readings are all there is. */
const isActive = (driver: EntityId, reading: Reading | undefined): boolean =>
  !driverTells(driver) || driverShows(driver, reading) === 'active';

function load(text: string | null): Kept {
  const nothing: Kept = { lastSession: '', left: [] };
  if (text === null) return nothing;
  try {
    const found = JSON.parse(text) as Partial<Kept>;
    return { lastSession: found.lastSession ?? '', left: Array.isArray(found.left) ? found.left : [] };
  } catch {
    return nothing;
  }
}
