import { DRY_PARTS } from './parts-dry.ts';
import { FLOW_PARTS } from './parts-flow.ts';
import { WATER_PARTS } from './parts-water.ts';
import type { PartFacts } from './types.ts';

const all: readonly PartFacts[] = [...WATER_PARTS, ...FLOW_PARTS, ...DRY_PARTS];

/** Parts that wear or are used up, by the id a configuration names as `kind`. */
export const PARTS: Readonly<Record<string, PartFacts>> = Object.fromEntries(all.map((part) => [part.id, part]));

export { NEW_SALT_WATER } from './parts-water.ts';
