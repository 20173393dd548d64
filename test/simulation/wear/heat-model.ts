// Water and room temperature, two heaters on a narrow thermostat, fans, and the thermometers.
import { prng, seedFor } from '../../../src/sim/index.ts';
import { SECOND_MS } from '../../../src/units/index.ts';
import { sdOf, wattsOf } from './meters.ts';
import type { Minute, Shared } from './world.ts';

export type HeatModel = { step(minute: Minute, dip: boolean): void };

const WH_PER_C = 1.136 * 458;
const LOSS_W_PER_C = 30;
/** Watts of pumps and lamps that end in the water. */
const BASE_W = 45;
const LAMPS_W = 60;
const OWN_STOP_C = 26.6;
const FAN_W = 90;

/** Library heating: 19.5 °C by day and 17 °C by night in winter, 25 °C in summer. */
function roomAt(season: number, ofDayMin: number): number {
  const winter = (Math.cos((2 * Math.PI * season) / 365) + 1) / 2;
  const hour = ofDayMin / 60;
  const open = Math.min(1, Math.max(0, (hour - 6) / 3)) * (1 - Math.min(1, Math.max(0, (hour - 19) / 5)));
  return winter * (17 + 2.5 * open) + (1 - winter) * (24 + open);
}

export function createHeatModel({ seed, reports, plugs }: Shared): HeatModel {
  const random = prng(seedFor(seed, 'wear heat'));
  const offsets = {
    display: random.between(-0.2, 0.2),
    sump: random.between(-0.2, 0.2),
    room: random.between(-0.2, 0.2),
  };
  if (!plugs.has('heater_1')) return { step: () => {} };
  let waterC = 25.5;
  let roomOffC = 0;
  let loss = 1;
  const on = { heater_1: false, heater_2: false, fans: false };
  const tell = (entity: string, at: number, value: number): void => {
    if (random.next() < 0.003) return;
    reports.put(
      entity,
      at + random.between(0, 50) * SECOND_MS,
      Math.round((value + 0.04 * random.gaussian()) * 10) / 10,
    );
  };
  return {
    step(minute, dip) {
      const { at, truth, ofDayMin, day, weekday, closed } = minute;
      if (ofDayMin === 0) {
        // Doors, windows, dry air: no day is like the other.
        roomOffC = 0.6 * roomOffC + 0.4 * random.gaussian();
        loss = 1 + 0.04 * random.gaussian();
      }
      // A weekly change of 45 litres a little too cold, spread over ten minutes.
      if (weekday === 0 && day > 0 && ofDayMin >= 672 && ofDayMin < 682 && !closed) waterC -= 0.03;
      const roomC = truth.heatSpell ? 29 : roomAt(minute.season, ofDayMin) + roomOffC;
      const mains = dip && ofDayMin > 300 && ofDayMin < 1_300 ? 0.93 : 1;
      const shown = waterC + truth.displayProbeC + offsets.display * 0.1;
      const isOn = (was: boolean, onC: number, offC: number): boolean => shown < (was ? offC : onC);
      on.heater_2 = isOn(on.heater_2, 25.488, 25.512);
      on.heater_1 = isOn(on.heater_1, 25.288, 25.312);
      on.fans = shown > (on.fans ? 26.1 : 26.3);
      const works2 = (on.heater_2 || truth.heater2.welded) && waterC < OWN_STOP_C;
      const works1 = on.heater_1 && waterC < OWN_STOP_C;
      const watts1 = works1 ? wattsOf('heater_1') * mains : 0;
      const watts2 = works2 ? wattsOf('heater_2') * mains * truth.heater2.watts : 0;
      const lamps = ofDayMin > 570 && ofDayMin < 1_110 ? LAMPS_W : 0;
      const netW =
        watts1 +
        watts2 * truth.heater2.intoWater +
        BASE_W +
        lamps -
        (on.fans ? FAN_W * truth.fan : 0) -
        LOSS_W_PER_C * loss * (waterC - roomC);
      waterC += netW / WH_PER_C / 60;
      plugs.get('heater_1')?.minute(at, works1 ? 1 : 0, watts1, sdOf('heater_1'));
      plugs.get('heater_2')?.minute(at, works2 ? 1 : 0, watts2, sdOf('heater_2'));
      plugs.get('fans')?.minute(at, on.fans ? 1 : 0, wattsOf('fans') * truth.fan, sdOf('fans'));
      for (const key of ['heater_1', 'heater_2', 'fans'] as const)
        if (plugs.has(key)) reports.state(`switch.${key}`, at, on[key]);
      if (ofDayMin % 2 === 1) return;
      tell('sensor.display_temperature', at, waterC + truth.displayProbeC + offsets.display);
      tell('sensor.sump_temperature', at, waterC + offsets.sump + (works1 || works2 ? 0.05 : 0));
      if (ofDayMin % 6 === 0) tell('sensor.room_temperature', at, roomC + offsets.room);
    },
  };
}
