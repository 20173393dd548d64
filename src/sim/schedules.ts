// The library's schedules: when the hub's automations switch what. Used by the live home and by the recorded past.
import { DAY_MS, HOUR_MS, type InstantMs, MINUTE_MS } from '../units/index.ts';
import { localTime } from './calendar.ts';
import { LED_DAY, type PlugKey } from './tank/index.ts';

export type Edge = { readonly atMs: number; readonly turn: 'on' | 'off'; readonly weekdays?: readonly number[] };

export type Schedule = {
  readonly entity: string;
  readonly name: string;
  readonly plug: PlugKey;
  readonly edges: readonly Edge[];
};

const daily = (onMs: number, offMs: number): readonly Edge[] => [
  { atMs: onMs, turn: 'on' },
  { atMs: offMs, turn: 'off' },
];

const MONDAY = 0;
const THURSDAY = 3;
const SUNDAY = 6;

export const SCHEDULES: readonly Schedule[] = [
  {
    entity: 'automation.lamp_bank_1',
    name: 'Lamp bank 1 by day',
    plug: 'lamp_bank_1',
    edges: daily(9.5 * HOUR_MS, 18.5 * HOUR_MS),
  },
  {
    entity: 'automation.lamp_bank_2',
    name: 'Lamp bank 2 at noon',
    plug: 'lamp_bank_2',
    edges: daily(11 * HOUR_MS, 17 * HOUR_MS),
  },
  { entity: 'automation.led_strip', name: 'LED strip', plug: 'led_strip', edges: daily(LED_DAY.fromMs, LED_DAY.toMs) },
  {
    entity: 'automation.algae_lamp',
    name: 'Algae lamp at night',
    plug: 'algae_lamp',
    edges: daily(20 * HOUR_MS, 10 * HOUR_MS),
  },
  {
    entity: 'automation.ro_unit',
    name: 'RO water Monday and Thursday',
    plug: 'ro_unit',
    edges: [
      { atMs: 6 * HOUR_MS, turn: 'on', weekdays: [MONDAY, THURSDAY] },
      { atMs: 9 * HOUR_MS + 30 * MINUTE_MS, turn: 'off', weekdays: [MONDAY, THURSDAY] },
    ],
  },
  {
    entity: 'automation.mixing_pump',
    name: 'Mixing pump before the change',
    plug: 'mixing_pump',
    edges: [
      { atMs: 18 * HOUR_MS, turn: 'on', weekdays: [SUNDAY] },
      { atMs: 11 * HOUR_MS, turn: 'off', weekdays: [MONDAY] },
    ],
  },
  {
    entity: 'automation.mixing_heater',
    name: 'Mixing heater before the change',
    plug: 'mixing_heater',
    edges: [
      { atMs: 18 * HOUR_MS + 5 * MINUTE_MS, turn: 'on', weekdays: [SUNDAY] },
      { atMs: 10 * HOUR_MS + 55 * MINUTE_MS, turn: 'off', weekdays: [MONDAY] },
    ],
  },
];

/** Whether the schedules would have this plug on; undefined where none decides. */
export function scheduledOn(plug: PlugKey, at: InstantMs): boolean | undefined {
  const schedule = SCHEDULES.find((one) => one.plug === plug);
  if (schedule === undefined) return undefined;
  const { ofDayMs, weekday } = localTime(at);
  const past = schedule.edges.flatMap(({ atMs, turn, weekdays }) =>
    (weekdays ?? [0, 1, 2, 3, 4, 5, 6]).map((day) => {
      const agoMs = (weekday - day) * DAY_MS + ofDayMs - atMs;
      return { turn, agoMs: agoMs < 0 ? agoMs + 7 * DAY_MS : agoMs };
    }),
  );
  return past.reduce((newest, one) => (one.agoMs < newest.agoMs ? one : newest)).turn === 'on';
}
