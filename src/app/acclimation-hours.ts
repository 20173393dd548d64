import { problem } from '../errors/index.ts';
import type { Equipment, Tank } from '../model/index.ts';
import type { StorePort } from '../ports/index.ts';
import {
  countedHours,
  hoursBetween,
  hoursText,
  type Programme,
  parseHours,
  USUAL_DAYS,
  usualHours,
} from '../procedure/acclimation/index.ts';
import { DAY_MS, type InstantMs } from '../units/index.ts';

export type KnownHours =
  | { readonly hours: Programme['hours']; readonly why: null }
  | { readonly hours: null; readonly why: string };

/** As written, else as counted. Never guessed: the display's hours may be another lamp's. */
export function knownHours(lamp: Equipment, tank: Tank, store: StorePort, now: InstantMs): KnownHours {
  if (lamp.lit !== undefined) {
    const written = hoursBetween(lamp.lit.onMinute, lamp.lit.offMinute);
    return written === null
      ? { hours: null, why: 'those of the configuration are longer than 18 h' }
      : { hours: { ...written, from: 'configuration' }, why: null };
  }
  const counter = tank.counters.find(
    ({ source, measures }) =>
      measures.includes('on-hours') && [lamp.switchEntity, lamp.powerEntity].includes(source.entity),
  );
  if (counter === undefined) return { hours: null, why: 'no counter of on-hours reads its plug' };
  const slices = store.slices(counter.id, 'on-hours', now - (USUAL_DAYS + 1) * DAY_MS);
  const usual = usualHours(countedHours(slices), now, tank.timeZone);
  return usual.hours === null
    ? { hours: null, why: usual.why }
    : { hours: { ...usual.hours, from: 'counted' }, why: null };
}

/** What was said at the start comes first. */
export function hoursFor(
  lamp: Equipment,
  said: string | undefined,
  known: () => KnownHours,
): NonNullable<KnownHours['hours']> {
  if (said !== undefined) {
    const read = parseHours(said);
    if (read === null) throw problem('SW-ACC-006', { found: said });
    return { ...read, from: 'said' };
  }
  const { hours, why } = known();
  if (hours === null) throw problem('SW-ACC-003', { name: lamp.name, why, lamp: lamp.id });
  return hours;
}

export const shownHours = ({ hours, why }: KnownHours) => ({
  hours: hours === null ? null : hoursText(hours),
  hoursFrom: hours?.from ?? null,
  hoursUnknown: why,
});
