import type { PlanOptions } from './closure.ts';

/** Words that say who brings the last mover back. */
const STAYS: Readonly<Record<string, NonNullable<PlanOptions['allStop']>>> = {
  'person-stays': 'person-stays',
  'outside-timer': 'outside-timer',
};

/**
 * `heater-swap:heater-1` chooses the equipment, `pump-pause+flow-left` stops more, `pump-pause+flow+person-stays` says who
 * brings the last mover back. So a choice goes through every door that takes a procedure's name.
 */
export function parseRequest(
  request: string,
  options: PlanOptions,
): { readonly procedure: string; readonly options: PlanOptions } {
  const [head = '', ...more] = request.split('+').map((word) => word.trim());
  const colon = head.indexOf(':');
  const procedure = (colon < 0 ? head : head.slice(0, colon)).trim();
  const chosen =
    colon < 0
      ? []
      : head
          .slice(colon + 1)
          .split(',')
          .map((word) => word.trim())
          .filter((word) => word !== '');
  const stays = more.map((word) => STAYS[word]).find((word) => word !== undefined);
  const alsoStop = more.filter((word) => word !== '' && !Object.hasOwn(STAYS, word));
  return {
    procedure,
    options: {
      ...options,
      ...(chosen.length === 0 ? {} : { equipment: [...(options.equipment ?? []), ...chosen] }),
      ...(alsoStop.length === 0 ? {} : { alsoStop: [...(options.alsoStop ?? []), ...alsoStop] }),
      ...(stays === undefined ? {} : { allStop: stays }),
    },
  };
}
