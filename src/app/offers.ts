import type { Config } from '../config/index.ts';
import { type Offered, offeredProcedures } from '../procedure/index.ts';
import type { ProcedureShown } from '../publish/index.ts';
import { isProcedure, procedureDef } from '../rules/index.ts';

/** What may be started on this tank, with what a page needs to put it in order: on which occasion, and for which parts. */
export const shownProcedures = ({ tank, rules }: Pick<Config, 'tank' | 'rules'>): readonly ProcedureShown[] =>
  offeredProcedures(tank, rules).map((offered) => shown(offered, tank));

function shown({ id, title }: Offered, { equipment, parts }: Config['tank']): ProcedureShown {
  const [base = '', chosen] = id.split(':');
  if (!isProcedure(base)) return { id, title, occasion: 'routine', parts: [] };
  const { handle, occasion = 'routine' } = procedureDef(base);
  const handled = equipment.filter((one) => (chosen === undefined ? handle.includes(one.role) : one.id === chosen));
  // A relay wears in the plug, not in what is handled.
  const served = parts.filter((part) => part.kind !== 'plug-relay' && handled.some((one) => one.id === part.equipment));
  return { id, title, occasion, parts: served.map((part) => part.id) };
}
