import { EQUIPMENT_PROCEDURES } from './procedures-equipment.ts';
import { EVENT_PROCEDURES } from './procedures-events.ts';
import { LIGHT_PROCEDURES } from './procedures-light.ts';
import { SUPPLY_PROCEDURES } from './procedures-supply.ts';
import { WATER_PROCEDURES } from './procedures-water.ts';
import { WHOLE_PROCEDURES } from './procedures-whole.ts';
import type { ProcedureDef } from './types.ts';

/** Jobs as data. Which steps they take on a given tank is built from its equipment and the rules. */
export const PROCEDURES = {
  ...EQUIPMENT_PROCEDURES,
  ...WATER_PROCEDURES,
  ...LIGHT_PROCEDURES,
  ...SUPPLY_PROCEDURES,
  ...WHOLE_PROCEDURES,
  ...EVENT_PROCEDURES,
} as const;

export type ProcedureId = keyof typeof PROCEDURES;

export const isProcedure = (id: string): id is ProcedureId => Object.hasOwn(PROCEDURES, id);

export const procedureDef = (id: ProcedureId): ProcedureDef => PROCEDURES[id];
