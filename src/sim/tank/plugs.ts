// The demo tank's plugs: what hangs on them, what they draw, and how they are called in the hub.
import type { RoleId } from '../../model/index.ts';
import type { PowerW } from '../../units/index.ts';

export const PLUG_KEYS = [
  'return_pump',
  'circulation_left',
  'circulation_right',
  'skimmer',
  'heater_1',
  'heater_2',
  'fans',
  'lamp_bank_1',
  'lamp_bank_2',
  'led_strip',
  'uv_unit',
  'algae_lamp',
  'algae_pump',
  'media_pump',
  'doser',
  'top_off',
  'ro_unit',
  'mixing_pump',
  'mixing_heater',
  'hub_network',
] as const;
export type PlugKey = (typeof PLUG_KEYS)[number];

export type PlugSpec = {
  readonly key: PlugKey;
  /** Socket label in the cabinet. */
  readonly code: string;
  readonly name: string;
  readonly role: RoleId;
  readonly powerW: PowerW;
  readonly sdW: PowerW;
};

const spec = (key: PlugKey, code: string, name: string, role: RoleId, powerW: number, sdW: number): PlugSpec => ({
  key,
  code,
  name,
  role,
  powerW,
  sdW,
});

export const PLUGS: Readonly<Record<PlugKey, PlugSpec>> = {
  return_pump: spec('return_pump', 'A1', 'Return pump', 'return-pump', 48, 0.6),
  circulation_left: spec('circulation_left', 'A2', 'Circulation left', 'circulation-pump', 22, 3),
  circulation_right: spec('circulation_right', 'A3', 'Circulation right', 'circulation-pump', 24, 2.5),
  skimmer: spec('skimmer', 'A4', 'Skimmer', 'skimmer', 26, 0.8),
  heater_1: spec('heater_1', 'B1', 'Heater 1', 'heater', 198, 3),
  heater_2: spec('heater_2', 'B2', 'Heater 2', 'heater', 198, 3),
  fans: spec('fans', 'B3', 'Cooling fans', 'fan', 12, 0.3),
  lamp_bank_1: spec('lamp_bank_1', 'C1', 'Lamp bank 1', 'fluorescent-bank', 171, 1.5),
  lamp_bank_2: spec('lamp_bank_2', 'C2', 'Lamp bank 2', 'fluorescent-bank', 171, 1.5),
  led_strip: spec('led_strip', 'C3', 'LED strip', 'led-lamp', 62, 0.7),
  uv_unit: spec('uv_unit', 'D1', 'UV unit', 'uv-unit', 25, 0.3),
  algae_lamp: spec('algae_lamp', 'D2', 'Algae reactor lamp', 'algae-lamp', 45, 0.3),
  algae_pump: spec('algae_pump', 'D3', 'Algae reactor pump', 'algae-reactor', 8, 0.3),
  media_pump: spec('media_pump', 'D4', 'Media reactor pump', 'media-reactor', 7, 0.3),
  doser: spec('doser', 'E1', 'Dosing pump', 'dosing-pump', 2, 0.05),
  top_off: spec('top_off', 'E2', 'Top-off pump', 'top-off', 9, 0.4),
  ro_unit: spec('ro_unit', 'F1', 'RO unit', 'ro-unit', 46, 0.8),
  mixing_pump: spec('mixing_pump', 'F2', 'Mixing pump', 'mixing-pump', 35, 0.6),
  mixing_heater: spec('mixing_heater', 'F3', 'Mixing heater', 'mixing-heater', 300, 4),
  hub_network: spec('hub_network', 'G1', 'Hub and network', 'hub-network', 11, 0.2),
};

export const switchOf = (key: PlugKey): string => `switch.${key}`;
export const powerOf = (key: PlugKey): string => `sensor.${key}_power`;

export function plugOfEntity(entity: string): PlugKey | undefined {
  return PLUG_KEYS.find((key) => switchOf(key) === entity || powerOf(key) === entity);
}
