// Boxes and levels of the demo tank. The sump has a fixed skimmer side behind a baffle; only the return chamber falls and
// rises until it reaches the baffle, then the whole sump does.
import type { LengthCm, VolumeL } from '../../units/index.ts';

export const NET_VOLUME_L: VolumeL = 458;
export const DISPLAY_L_PER_CM = 7.5;
export const SUMP_L_PER_CM = 4.05;
export const RETURN_CHAMBER_L_PER_CM = 1.26;
export const BAFFLE_CM: LengthCm = 24;
export const NORMAL_LEVEL_CM: LengthCm = 20;
export const RIM_CM: LengthCm = 42;
export const HIGH_FLOAT_CM: LengthCm = 31;
export const TOP_OFF_STORE_L: VolumeL = 40;
export const BARREL_L: VolumeL = 140;

/** What runs down through weir, overflow box and pipe until air breaks the siphon. */
export const DRAIN_DOWN_L: VolumeL = 19.5;
/** The same with the siphon-break hole blocked: it drains on to the outlet's own depth. */
export const BLOCKED_DRAIN_DOWN_L: VolumeL = 58.5;
/** Time until it has all run down. */
export const DRAIN_DOWN_MS = 90_000;

const SKIMMER_SIDE_L = BAFFLE_CM * (SUMP_L_PER_CM - RETURN_CHAMBER_L_PER_CM);
const FULL_TO_BAFFLE_L = BAFFLE_CM * SUMP_L_PER_CM;
export const NORMAL_SUMP_L: VolumeL = SKIMMER_SIDE_L + NORMAL_LEVEL_CM * RETURN_CHAMBER_L_PER_CM;

/** Level in the return chamber for the litres in the whole sump. */
export function sumpLevelCm(sumpL: VolumeL): LengthCm {
  if (sumpL >= FULL_TO_BAFFLE_L) return sumpL / SUMP_L_PER_CM;
  return Math.max(0, (sumpL - SKIMMER_SIDE_L) / RETURN_CHAMBER_L_PER_CM);
}

/**
 * Litres still to come down after `dtMs` with the pump stopped. An outlet under a falling head: the flow goes with the
 * root of what is left, so what is left falls as a parabola that ends after `DRAIN_DOWN_MS`.
 */
export function leftToDrainL(leftL: VolumeL, fullL: VolumeL, dtMs: number): VolumeL {
  const root = Math.sqrt(Math.max(0, leftL / fullL)) - dtMs / (DRAIN_DOWN_MS * Math.sqrt(fullL / DRAIN_DOWN_L));
  return root <= 0 ? 0 : fullL * root * root;
}

/** Litres come down that are still down after `dtMs` with the pump at `flow` (0 to 1): weir and pipe fill up again. */
export function stillDownL(downL: VolumeL, flow: number, dtMs: number): VolumeL {
  const left = downL * Math.exp((-dtMs / REFILL_TIME_MS) * flow);
  return left < 0.02 ? 0 : left;
}
const REFILL_TIME_MS = 35_000;

/** Wh to warm one litre of the tank's water by one degree. */
export const WH_PER_L_C = 1.136;
