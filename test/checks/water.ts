import type { Solvers } from './types.ts';
import { CHANGE_SOLVERS } from './water-changes.ts';
import { HEAT_SOLVERS } from './water-heat.ts';
import { RO_SOLVERS } from './water-ro.ts';
import { SEAWATER_SOLVERS } from './water-seawater.ts';

/** How each kind of row in water.json is worked out by this program. */
export const solvers: Solvers = { ...SEAWATER_SOLVERS, ...CHANGE_SOLVERS, ...RO_SOLVERS, ...HEAT_SOLVERS };
