import type { DurationMs, LengthCm, VolumeL } from '../units/index.ts';
import type { EquipmentId } from './tank.ts';

export type GuardId = string;

/**
 * - `high-level`: water where it must never be (K2)
 * - `top-off`: one run, or a day's runs, too long (K3)
 * - `leak`: a leak sensor is wet (K29)
 * - `dry-heater`: watts without warming, or heat with a low level (K4)
 * - `barrel-dry`: heat or pumping in a mixing barrel that is low or not mixed (K26)
 * - `ro-litres`: more product water than anything could hold
 * - `flow-while-off`: the litre meter goes on after the switch-off
 * - `welded-relay`: watts go on after the switch-off (K18)
 */
export const GUARD_KINDS = [
  'high-level',
  'top-off',
  'leak',
  'dry-heater',
  'barrel-dry',
  'ro-litres',
  'flow-while-off',
  'welded-relay',
] as const;
export type GuardKind = (typeof GUARD_KINDS)[number];

/** A standing protection that may only switch off, and only what it names. */
export type GuardDef = {
  readonly id: GuardId;
  readonly name: string;
  readonly kind: GuardKind;
  /** What it may switch off. Kinds that watch one device have exactly one here. */
  readonly off: readonly EquipmentId[];
  /** Sensors it looks at, by their id in the tank. */
  readonly sensors: readonly string[];
  /** `high-level` by a level sensor: more than this. */
  readonly aboveCm?: LengthCm;
  /** `dry-heater` by a level sensor: less than this. */
  readonly belowCm?: LengthCm;
  /** `top-off`: longest run; `ro-litres`: longest time without a stop. */
  readonly runMs?: DurationMs;
  /** `top-off`: run time within 24 h. */
  readonly perDayMs?: DurationMs;
  /** `ro-litres`: within 24 h; `flow-while-off`: after the switch-off. */
  readonly litres?: VolumeL;
  /** `dry-heater`: watts this long without warming. */
  readonly afterMs?: DurationMs;
  /** `barrel-dry`: the pump that mixes. */
  readonly pump?: EquipmentId;
};
