import type { EntityId, EquipmentId } from '../model/index.ts';
import { returnStops } from './check.ts';
import { watchClaims } from './claims.ts';
import { scaled } from './context.ts';
import { driverShows } from './driver.ts';
import { isSince } from './evidence.ts';
import { switchOffAgain } from './foreign.ts';
import { goesHome } from './going-home.ts';
import { touchedBy } from './left.ts';
import { highestAllowedCm, levelNow, levelSeen } from './level.ts';
import { safeStateOfRise } from './life-support.ts';
import { recalled } from './memory.ts';
import { entitiesOfMovers, isMover, moversLeft, moversOf, noneProved, stoppedAMover } from './movers.ts';
import {
  alarmOnce,
  alarmOver,
  askAfresh,
  claimOn,
  clocksDisagree,
  hold,
  isEnded,
  keyOf,
  mayAsk,
  nameOf,
  openStepOf,
  type Run,
  recallNumber,
  recallText,
  remember,
} from './run.ts';
import { watts } from './switching.ts';
import type { SessionState } from './types.ts';
import { wetNow } from './wet.ts';
import { watchCords } from './wrong-cord.ts';

/** What is looked after on every event, whatever step is open: claims, foreign hands, the rise, the movers. */
export function watch(run: Run): void {
  watchClaims(run);
  watchCords(run);
  if (isEnded(run.state) || run.state.status === 'idle') return;
  // These go by what was last heard: time alone changes nothing of theirs.
  if (!run.isTick) {
    watchForeignHands(run);
    watchRise(run);
    watchWet(run);
    watchDrivers(run);
  }
  watchMovers(run);
}

/** Pace of looking after what nobody waits for. */
const SLOWLY = 5;

/** Everything whose state still matters while nothing else asks for it. */
export function keepLooking(run: Run): void {
  const { status } = run.state;
  if (status !== 'held' && (status !== 'running' || openStepOf(run.state)?.action !== 'wait')) return;
  // While a return is off and nobody knows where the water stands, that comes before all else.
  if (returnStops(run) && levelNow(run) === null) askAfresh(run, [run.ctx.sumpLevelEntity]);
  // Where a more urgent wish goes out anyhow, these go with it.
  if (!mayAsk(run, run.wanted === null ? SLOWLY : 1)) return;
  const ids = [...run.state.offNow, ...run.state.claims.map((claim) => claim.equipment)];
  const entities = ids.flatMap((id) => [run.ctx.equipment[id]?.switchEntity, run.ctx.equipment[id]?.powerEntity]);
  askAfresh(
    run,
    [...entities, ...(returnStops(run) ? [run.ctx.sumpLevelEntity, ...entitiesOfMovers(run, moversOf(run))] : [])],
    SLOWLY,
  );
}

/** Off by us, its off step behind it, and not yet told to come back. */
export const keptOff = (run: Run): readonly EquipmentId[] =>
  run.state.offNow.filter(
    (id) =>
      recallNumber(run, keyOf('offAt', id)) !== null &&
      recallNumber(run, keyOf('onSent', id)) === null &&
      !claimOn(run.state, id),
  );

export function cameOn(run: Run, id: EquipmentId): boolean {
  const entity = run.ctx.equipment[id]?.switchEntity;
  const relay = entity === undefined ? undefined : run.state.readings[entity];
  const offAt = recallNumber(run, keyOf('offAt', id)) ?? run.at;
  return relay !== undefined && relay.value !== null && relay.value !== 0 && isSince(run, relay, offAt);
}

/** Kept off or claimed, and on by other hands or by itself at this moment. */
export const cameOnByItself = ({ memory, offNow, claims }: SessionState): readonly EquipmentId[] =>
  [...new Set([...offNow, ...claims.map(({ equipment }) => equipment)])].filter((id) =>
    [keyOf('on', id), keyOf('claim', id)].some((key) => typeof recalled(memory, keyOf('told', key)) === 'number'),
  );

function watchForeignHands(run: Run): void {
  for (const id of keptOff(run)) {
    const name = nameOf(run, id);
    // Going home, a water mover brought back by hand is help.
    if (goesHome(run) && isMover(run, id)) continue;
    if (cameOn(run, id)) {
      const text = `${name} was switched on by other hands while the session keeps it off. Switch it off again and stop what did it, then resume.`;
      if (alarmOnce(run, keyOf('on', id), 'foreign-hand', text)) {
        hold(run, 'foreign-hand', text);
        switchOffAgain(run, id);
      }
      continue;
    }
    alarmOver(run, keyOf('on', id));
    const drawn = drawsWhileOff(run, id);
    const text = `${name} reads off but draws ${watts(drawn ?? 0)}: its relay may be welded. Unplug it now, then resume.`;
    if (drawn === null) alarmOver(run, keyOf('hot', id));
    else if (alarmOnce(run, keyOf('hot', id), 'contradiction', text)) hold(run, 'contradiction', text);
  }
}

/** Watts of an equipment we keep off, where it should have none. */
export function drawsWhileOff(run: Run, id: EquipmentId): number | null {
  const entity = run.ctx.equipment[id]?.powerEntity;
  const power = entity === undefined ? undefined : run.state.readings[entity];
  const offAt = recallNumber(run, keyOf('offAt', id)) ?? run.at;
  if (!power || power.value === null || !isSince(run, power, offAt)) return null;
  return power.value > run.ctx.settings.claimWattsW ? power.value : null;
}

/** K9, I6: more water than learned means the display is emptying: the stop ends, by the agreed restart or by a person. */
function watchRise(run: Run): void {
  const level = levelNow(run);
  const most = highestAllowedCm(run);
  const returnOff = run.state.offNow.some((id) => run.ctx.equipment[id]?.effect !== undefined);
  if (clocksDisagree(run) && most !== null && returnOff) tellOfRise(run, most);
  if (level === null || most === null || !returnOff || level <= most) {
    if (level !== null) for (const key of ['rise', 'rise-unsure']) alarmOver(run, key);
    return;
  }
  if (recallNumber(run, 'told.rise') !== null) return;
  const stands = `The sump stands at ${level.toFixed(1)} cm, over the ${most.toFixed(1)} cm allowed: the siphon break may be blocked.`;
  const next =
    safeStateOfRise(run) ?? 'Start the return by hand, or close its line, before the sump overflows; then abort.';
  alarmOnce(run, 'rise', 'limit-exceeded', `${stands} ${next}`);
  hold(run, 'limit-exceeded', `${stands} ${next}`);
}

/** While clocks disagree nothing is restarted by what is read; a person hears of it all the same. */
function tellOfRise(run: Run, mostCm: number): void {
  const level = levelSeen(run);
  if (level === null || level <= mostCm) return;
  const text = `The sump seems to stand at ${level.toFixed(1)} cm, over the ${mostCm.toFixed(1)} cm allowed, and by the clocks nothing can be judged. Look now: start the return by hand, or close its line, before the sump overflows.`;
  if (alarmOnce(run, 'rise-unsure', 'limit-exceeded', text)) hold(run, 'limit-exceeded', text);
}

function watchWet(run: Run): void {
  const wet = wetNow(run);
  // Before the first switch-off the check itself says so.
  if (wet.length === 0 || run.state.stepIndex < 1 || run.state.plan.leak === true) {
    if (wet.length === 0) alarmOver(run, 'wet');
    return;
  }
  const text = `Wet or too high: ${wet.join(', ')}. Nothing more is switched. Find the water, then resume; or abort.`;
  if (alarmOnce(run, 'wet', 'wet', text)) hold(run, 'limit-exceeded', text);
}

/**
 * K16: one of the movers left must keep proving that it runs; where the session stops none, from when one has. Where all
 * are off, their clock tells.
 */
function watchMovers(run: Run): void {
  const left = moversLeft(run);
  const answers = stoppedAMover(run);
  const isMissing = left.length > 0 && noneProved(run, left);
  if (left.length > 0 && !isMissing) remember(run, 'mv.seen', 1);
  if (!isMissing || !(answers || recallNumber(run, 'mv.seen') !== null)) {
    remember(run, 'mv.lostAt', null);
    alarmOver(run, 'mover');
    return;
  }
  const lostAt = recallNumber(run, 'mv.lostAt') ?? run.at;
  remember(run, 'mv.lostAt', lostAt);
  askAfresh(run, entitiesOfMovers(run, left));
  if (run.at - lostAt < scaled(run.ctx.settings.freshMs, run.ctx)) return;
  const names = left.map((id) => nameOf(run, id)).join(', ');
  const text = `No water mover is proved to run any more (${names}). Look at the tank now: the animals need moving water.`;
  const goesDown = answers && openStepOf(run.state)?.action !== 'switch-on';
  if (alarmOnce(run, 'mover', 'no-water-mover', text) && goesDown && run.state.status === 'running') {
    hold(run, 'effect-missing', text);
  }
}

/** Its equipment's step is open, or it is given back just now. */
function isHandedOver(run: Run, id: EquipmentId, entity: EntityId): boolean {
  const step = openStepOf(run.state);
  return (
    step?.equipment === id ||
    (step?.action === 'hand-back' && run.ctx.equipment[step.equipment ?? '']?.driverEntity === entity)
  );
}

/** A driver that was suspended and is active again may switch what the session keeps off: told, before it does. */
function watchDrivers(run: Run): void {
  for (const id of touchedBy(run.state.plan)) {
    const entity = recallText(run, keyOf('taken', id));
    if (entity === null || isHandedOver(run, id, entity)) continue;
    const reading = run.state.readings[entity];
    const takenAt = recallNumber(run, keyOf('takenAt', id)) ?? run.at;
    const text = `${entity} is active again though the session suspended it: it may switch ${nameOf(run, id)}. Find out who did that.`;
    const shows = driverShows(entity, reading);
    if (shows === 'active' && isSince(run, reading, takenAt)) alarmOnce(run, keyOf('driver', id), 'foreign-hand', text);
    else if (shows === 'suspended') alarmOver(run, keyOf('driver', id));
  }
}
