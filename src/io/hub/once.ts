import { problem, type SlackwaterError } from '../../errors/index.ts';
import { CallFailure } from './deadline.ts';
import { missingEntities } from './missing.ts';
import { fillOptions, type HubOptions } from './options.ts';
import { createRest, type Rest } from './rest.ts';
import { callProblem } from './trouble.ts';

export type HubLook = { readonly version: string; readonly missing: readonly SlackwaterError[] };

/**
 * One look at the hub without a lasting connection, for checking a configuration before use: is it there, does it take the
 * token, has it the entities. Throws what is wrong with address or token.
 */
export async function lookOnce(options: HubOptions): Promise<HubLook> {
  const setup = fillOptions(options);
  const refused = { yes: false };
  const rest = createRest(
    setup,
    () => true,
    () => {
      refused.yes = true;
    },
  );
  try {
    return await ask(rest, options);
  } catch (error) {
    if (refused.yes) throw problem('SW-HUB-002', { url: setup.url });
    if (error instanceof CallFailure && error.kind === 'lost')
      throw problem('SW-HUB-001', { url: setup.url, detail: 'nothing answers there' });
    if (error instanceof NotAHub) throw problem('SW-HUB-014', { url: setup.url, detail: error.message });
    throw callProblem(error, setup, 'reading its entities');
  }
}

class NotAHub extends Error {}

async function ask(rest: Rest, { entities }: HubOptions): Promise<HubLook> {
  const config = await rest.get<{ readonly version?: unknown } | null>('/api/config');
  if (typeof config !== 'object' || typeof config?.version !== 'string') throw new NotAHub('it tells no version');
  const states = await rest.get<unknown>('/api/states');
  if (!Array.isArray(states)) throw new NotAHub('it lists no states');
  const known = states.flatMap(({ entity_id: id }: { entity_id?: unknown }) => (typeof id === 'string' ? [id] : []));
  return { version: config.version, missing: missingEntities(entities, known) };
}
