import { didYouMean, problem } from '../errors/index.ts';
import { isZone, zoneNames } from '../units/index.ts';
import type { Report } from './meta.ts';

/** What is wrong with the name of a zone, or null. */
export function isZoneReport(name: string): Report | null {
  if (isZone(name)) return null;
  const hint = didYouMean(name, zoneNames(), zoneHint(name));
  return (at, path) => problem('SW-CFG-012', { at, path, found: name, hint });
}

/** Somebody who writes a city alone gets the zone of that city. */
function zoneHint(name: string): string {
  const city = name.trim().replace(/\s+/g, '_').toLowerCase();
  const zone = zoneNames().find((each) => each.toLowerCase().endsWith(`/${city}`));
  return zone === undefined
    ? 'Write region and city, such as Europe/London or America/New_York.'
    : `Did you mean "${zone}"?`;
}
