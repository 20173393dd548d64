import type { EntityId, EquipmentId } from '../../model/index.ts';
import type { Reading } from '../../observe/index.ts';
import { type DurationMs, formatSpan, type InstantMs } from '../../units/index.ts';

/** Plugs of which the hub itself says that it hears nothing: without power after a cut, more often than broken. */

/** A plug that joins its network anew takes minutes; only what stays away longer is told. */
export const DARK_MS: DurationMs = 10 * 60_000;

export type DarkState = {
  /** Since when nothing is heard of each. */
  readonly since: Readonly<Record<EquipmentId, InstantMs>>;
  readonly told: readonly EquipmentId[];
};

export const NOTHING_DARK: DarkState = { since: {}, told: [] };

export type Plugged = {
  readonly id: EquipmentId;
  readonly name: string;
  readonly switchEntity?: EntityId;
};

type Seen = {
  readonly at: InstantMs;
  readonly readings: Readonly<Record<EntityId, Reading>>;
  readonly busy: readonly EquipmentId[];
  /** When the hub was last reached anew; 0 = never was away. */
  readonly hubBackAt: InstantMs;
};

export type DarkSaid =
  | { readonly kind: 'alarm'; readonly code: string; readonly text: string }
  | { readonly kind: 'alarm-over'; readonly code: string };

const CODE = 'dark_plugs';

/** Whoever has it in hand knows where its plug is. */
const isDark = ({ readings, busy }: Seen, { id, switchEntity }: Plugged): boolean => {
  const reading = switchEntity === undefined ? undefined : readings[switchEntity];
  return reading !== undefined && reading.value === null && reading.word === undefined && !busy.includes(id);
};

/** Told once for all that stay away, anew when more do; over when all are heard again. */
export function darkStep(
  before: DarkState,
  seen: Seen,
  plugs: readonly Plugged[],
  timeFactor: number,
): readonly [DarkState, readonly DarkSaid[]] {
  const dark = plugs.filter((one) => isDark(seen, one));
  if (dark.length === 0 && before.told.length === 0)
    return [Object.keys(before.since).length === 0 ? before : NOTHING_DARK, []];
  const since = Object.fromEntries(dark.map(({ id }) => [id, before.since[id] ?? seen.at]));
  const stay = dark.filter(({ id }) => seen.at - (since[id] ?? seen.at) >= DARK_MS / timeFactor);
  const stillTold = before.told.filter((id) => Object.hasOwn(since, id));
  if (stay.every(({ id }) => stillTold.includes(id))) {
    const over: readonly DarkSaid[] =
      before.told.length > 0 && stillTold.length === 0 ? [{ kind: 'alarm-over', code: CODE }] : [];
    return [{ since, told: stillTold }, over];
  }
  const text = darkText(stay, since, seen, timeFactor);
  return [{ since, told: stay.map(({ id }) => id) }, [{ kind: 'alarm', code: CODE, text }]];
}

function darkText(
  stay: readonly Plugged[],
  since: DarkState['since'],
  { at, hubBackAt }: Seen,
  timeFactor: number,
): string {
  const first = Math.min(...stay.map(({ id }) => since[id] ?? at));
  const names = stay.map(({ name }) => name).join(', ');
  const from = first - hubBackAt <= DARK_MS / timeFactor ? 'since the hub is back' : 'any more';
  const what = `Nothing is heard of ${stay.length === 1 ? 'this plug' : 'these plugs'} ${from}, for ${formatSpan((at - first) * timeFactor)}: ${names}.`;
  return `${what} Without power? Look whether the earth-leakage switch of a strip has dropped out and reset it once; if it drops again, leave it off and call an electrician. After a power cut, start the session "Restart after a power cut": it brings all back in order.`;
}

/** As every surface shows it until the last is heard again. */
export const darkLine = (state: DarkState, plugs: readonly Plugged[], now: InstantMs, timeFactor: number): string => {
  const told = plugs.filter(({ id }) => state.told.includes(id));
  const first = Math.min(...told.map(({ id }) => state.since[id] ?? now));
  return `Nothing is heard of the plugs of ${told.map(({ name }) => name).join(', ')} for ${formatSpan((now - first) * timeFactor)}`;
};
