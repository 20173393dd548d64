import { nearest, problem } from '../../errors/index.ts';
import type { EntityId } from '../../model/index.ts';
import type { EntityMap } from '../../observe/index.ts';
import type { Log } from '../../ports/index.ts';
import type { Link } from './link.ts';
import type { HubEntities } from './options.ts';

const USES: readonly (readonly [keyof HubEntities, string])[] = [
  ['commandable', 'switching'],
  ['drivers', 'suspending'],
  ['readings', 'reading'],
  ['observe', 'counting'],
];

/** Names each configured entity the hub does not have, once, with the nearest name it does have. */
export async function reportMissing(link: Link, entities: HubEntities, states: EntityMap, log: Log): Promise<void> {
  const uses = new Map<EntityId, string>();
  for (const [key, use] of USES) for (const entity of entities[key]) if (!uses.has(entity)) uses.set(entity, use);
  const missing = [...uses].filter(([entity]) => !states.has(entity));
  if (missing.length === 0) return;
  const known = await knownEntities(link);
  for (const [entity, what] of missing) {
    const domain = entity.slice(0, entity.indexOf('.') + 1);
    const near = nearest(
      entity,
      known.filter((one) => one.startsWith(domain)),
    );
    const hint = near === null ? 'Look its name up in the hub and correct the configuration.' : `Did you mean ${near}?`;
    const { code, message } = problem('SW-HUB-009', { entity, what, hint });
    log.warn(`${code} ${message} ${hint} Until then it is unknown.`);
  }
}

async function knownEntities(link: Link): Promise<readonly EntityId[]> {
  type Display = { readonly entities?: readonly { readonly ei?: string }[] };
  const display = await link.call<Display>({ type: 'config/entity_registry/list_for_display' }).catch(() => null);
  return (display?.entities ?? []).flatMap(({ ei }) => (ei === undefined ? [] : [ei]));
}
