import type { EntityId } from '../../model/index.ts';
import type { Reading } from '../../observe/index.ts';
import { asFailure } from './deadline.ts';
import type { Feed } from './feed.ts';
import type { Link } from './link.ts';
import type { Look } from './look.ts';
import type { Names } from './names.ts';

/** Has the devices report, then reads what the hub heard, with its true report time. What cannot be had stays as known. */
export async function refreshReadings(
  { link, look, feed, names }: { readonly link: Link; readonly look: Look; readonly feed: Feed; readonly names: Names },
  wanted: readonly EntityId[],
): Promise<readonly Reading[]> {
  const called = wanted.map((entity) => names.toHub(entity));
  const looked = new Map<EntityId, Reading>();
  try {
    await askToReport(link, called);
    for (const reading of await look.readings(called))
      for (const entity of names.toOurs(reading.entity)) looked.set(entity, { ...reading, entity });
  } catch {
    // What is known stands as it is; its age tells.
  }
  return wanted.map((entity) => newer(feed.readingOf(entity), looked.get(entity)));
}

/** Devices that cannot be asked are simply left as they are. */
async function askToReport(link: Link, entities: readonly EntityId[]): Promise<void> {
  const call = {
    type: 'call_service',
    domain: 'homeassistant',
    service: 'update_entity',
    service_data: { entity_id: entities },
  };
  await link.call(call).catch((error: unknown) => {
    if (asFailure(error).kind === 'not-sent') throw error;
  });
}

function newer(known: Reading, looked: Reading | undefined): Reading {
  return looked === undefined || looked.reportedAt < known.changedAt ? known : looked;
}
