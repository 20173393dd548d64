import { nearest, problem, type SlackwaterError } from '../../errors/index.ts';
import type { EntityId } from '../../model/index.ts';
import type { EntityMap } from '../../observe/index.ts';
import type { Log } from '../../ports/index.ts';
import type { Link } from './link.ts';
import type { HubEntities } from './options.ts';

const USES: readonly (readonly [Exclude<keyof HubEntities, 'lamps'>, string])[] = [
  ['commandable', 'switching'],
  ['drivers', 'suspending'],
  ['readings', 'reading'],
  ['observe', 'counting'],
];

/** Each configured entity the hub does not have, once, with the nearest name it does have. */
export function missingEntities(entities: HubEntities, known: readonly EntityId[]): readonly SlackwaterError[] {
  return findMissing(entities, new Set(known)).map((found) => missingProblem(found, known));
}

/** Says the same in the log. Names near a missing one cost a question to the hub, asked only where one is missing. */
export async function reportMissing(link: Link, entities: HubEntities, states: EntityMap, log: Log): Promise<void> {
  const missing = findMissing(entities, states);
  if (missing.length === 0) return;
  const known = await knownEntities(link);
  for (const found of missing) {
    const { code, message, whatToDo } = missingProblem(found, known);
    log.warn(`${code} ${message} ${whatToDo} Until then it is unknown.`);
  }
}

type Missing = readonly [entity: EntityId, use: string];

function findMissing(entities: HubEntities, there: { has(entity: EntityId): boolean }): readonly Missing[] {
  const uses = new Map<EntityId, string>();
  for (const [key, use] of USES) for (const entity of entities[key]) if (!uses.has(entity)) uses.set(entity, use);
  return [...uses].filter(([entity]) => !there.has(entity));
}

function missingProblem([entity, what]: Missing, known: readonly EntityId[]): SlackwaterError {
  const domain = entity.slice(0, entity.indexOf('.') + 1);
  const near = nearest(
    entity,
    known.filter((one) => one.startsWith(domain)),
  );
  const hint = near === null ? 'Look its name up in the hub and correct the configuration.' : `Did you mean ${near}?`;
  return problem('SW-HUB-009', { entity, what, hint });
}

async function knownEntities(link: Link): Promise<readonly EntityId[]> {
  type Display = { readonly entities?: readonly { readonly ei?: string }[] };
  const display = await link.call<Display>({ type: 'config/entity_registry/list_for_display' }).catch(() => null);
  return (display?.entities ?? []).flatMap(({ ei }) => (ei === undefined ? [] : [ei]));
}
