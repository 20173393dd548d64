import { problem } from '../../errors/index.ts';
import type { EntityId } from '../../model/index.ts';
import type { EntityMap } from '../../observe/index.ts';
import type { CommandOutcome, SwitchCommand } from '../../procedure/index.ts';
import { asFailure } from './deadline.ts';
import type { Link } from './link.ts';
import type { Names } from './names.ts';
import type { HubEntities } from './options.ts';

export type GateAnswer = { readonly outcome: CommandOutcome; readonly detail: string };

export type Gate = {
  command(command: SwitchCommand): Promise<GateAnswer>;
  driver(entity: EntityId, turn: 'suspend' | 'resume'): Promise<GateAnswer>;
};

/**
 * The one way to switch anything. Only entities of the configuration pass. "Confirmed" means that the hub took the call
 * without complaint, nothing more: whether the plug followed is for evidence to tell.
 */
export function createGate(
  { link, entities, names }: { readonly link: Link; readonly entities: HubEntities; readonly names: Names },
  isUp: () => boolean,
  states: () => EntityMap,
): Gate {
  const commandable = new Set(entities.commandable);
  const drivers = new Set(entities.drivers);
  const lamps = new Set(entities.lamps);

  const send = async (entity: EntityId, allowed: ReadonlySet<EntityId>, turn: 'on' | 'off'): Promise<GateAnswer> => {
    if (!allowed.has(entity)) return { outcome: 'invalid', detail: problem('SW-HUB-012', { entity }).message };
    if (!isUp()) return { outcome: 'refused', detail: 'not sent: the hub is not connected' };
    const state = states().get(entity)?.state;
    if (state === undefined) return { outcome: 'invalid', detail: `not sent: the hub has no entity ${entity}` };
    // The hub takes a call for an unavailable entity and quietly leaves that entity out.
    if (state === 'unavailable') return { outcome: 'refused', detail: `not sent: ${entity} is unavailable in the hub` };
    return call(entity, turn);
  };

  const call = async (entity: EntityId, turn: 'on' | 'off'): Promise<GateAnswer> => {
    try {
      await link.call({
        type: 'call_service',
        domain: 'homeassistant',
        service: `turn_${turn}`,
        target: { entity_id: names.toHub(entity) },
      } as { type: string });
      return { outcome: 'confirmed', detail: `the hub took the call to turn ${entity} ${turn}` };
    } catch (error) {
      return explain(error, entity, turn);
    }
  };

  return {
    command: async (command) => {
      if (command.guard !== undefined && command.turn !== 'off')
        return { outcome: 'invalid', detail: `not sent: the guard ${command.guard} may only switch off` };
      if (command.programme === true && !lamps.has(command.entity))
        return {
          outcome: 'invalid',
          detail: `not sent: a light programme switches lamps alone, ${command.entity} is none`,
        };
      return send(command.entity, commandable, command.turn);
    },
    driver: (entity, turn) => send(entity, drivers, turn === 'suspend' ? 'off' : 'on'),
  };
}

function explain(error: unknown, entity: EntityId, turn: string): GateAnswer {
  const failure = asFailure(error);
  switch (failure.kind) {
    case 'not-sent':
      return { outcome: 'refused', detail: `not sent: ${failure.message}` };
    case 'refused':
      return { outcome: 'refused', detail: `the hub refused to turn ${entity} ${turn}: ${failure.message}` };
    case 'deadline':
      return { outcome: 'still-working', detail: `${failure.message}; ${entity} may still turn ${turn}` };
    case 'lost':
      return { outcome: 'sent-unconfirmed', detail: `${failure.message}; ${entity} may have turned ${turn}` };
  }
}
