// Sump level, top-off with its float, and water making with its meters.
import { prng, seedFor } from '../../../src/sim/index.ts';
import { SECOND_MS } from '../../../src/units/index.ts';
import { sdOf, wattsOf } from './meters.ts';
import type { Minute, Shared } from './world.ts';

export type WaterModel = { step(minute: Minute): void };

const CHAMBER_L_PER_CM = 1.26;
const RATE_L_PER_S = 0.0175;
const LOW_CM = 19.86;
const CONTENT_CM = 20.14;
/** A pump that runs longer is cut, and stays so until somebody comes. */
const LIMIT_S = 60;
const LOCKED_MIN = 12 * 60;
const RISE_CM = 7.6;
const DRAIN_MIN = 1.5;
const SIPHON_L_PER_MIN = 0.12;
const SIPHON_ENDS_L = 6;

export function createWaterModel(shared: Shared): WaterModel {
  const steps = [createTopOffModel(shared), createRoModel(shared)];
  return {
    step(minute) {
      for (const step of steps) step(minute);
    },
  };
}

function createTopOffModel({ seed, reports, plugs }: Shared): (minute: Minute) => void {
  const random = prng(seedFor(seed, 'wear water'));
  const pump = plugs.get('top_off');
  if (pump === undefined) return () => {};
  let cm = 20;
  let drained = 0;
  let pausedFor = 0;
  let asking = false;
  let lockedUntil = 0;
  let siphoned = -1;
  let dayLoss = 1;
  const level = (at: number, value: number): void => {
    if (random.next() < 0.003) return;
    const bubble = random.next() < 0.01 ? 2 : 0;
    reports.put('sensor.sump_level', at, Math.round((value + 0.15 * random.gaussian() + bubble) * 10) / 10);
  };
  return ({ at, truth, paused, ofDayMin, weekday, day, season, closed }) => {
    if (ofDayMin === 0) dayLoss = 1 + 0.06 * random.gaussian();
    const perDayL = (5.85 + 0.6 * Math.cos((2 * Math.PI * season) / 365)) * dayLoss;
    cm -= perDayL / CHAMBER_L_PER_CM / 1_440;
    // Litres in are never quite the litres out of a weekly change.
    if (weekday === 0 && day > 0 && ofDayMin === 690 && !closed) cm += 0.3 * random.gaussian();
    pausedFor = paused ? pausedFor + 1 : 0;
    const rise = RISE_CM * truth.rise * (1 + 0.01 * random.gaussian());
    const full = DRAIN_MIN * Math.sqrt(truth.rise);
    const left = Math.max(0, 1 - pausedFor / full);
    drained = paused ? rise * (1 - left * left) : drained * 0.2;
    const shown = cm + (drained < 0.05 ? 0 : drained);
    const low = LOW_CM - truth.lineFallCm;
    const content = low + (CONTENT_CM - LOW_CM) * truth.band;
    const start = random.between(0, 20);
    let ranS = 0;
    if (truth.floatStuck || (!asking && shown < low) || asking) {
      if (!asking) reports.state('binary_sensor.low_float', at + start * SECOND_MS, true);
      asking = true;
      const canRun = at >= lockedUntil && !paused;
      const needS = Math.max(0, (content - shown) * CHAMBER_L_PER_CM) / (RATE_L_PER_S * truth.topOffRate);
      const hang = random.next() < truth.floatHangs ? random.between(20, 60) : 0;
      const isContent = !truth.floatStuck && shown >= content;
      const wanted = truth.floatStuck || truth.storeEmpty ? LIMIT_S : needS + hang;
      ranS = canRun && !isContent ? Math.min(LIMIT_S, wanted) * (1 + 0.03 * random.gaussian()) : 0;
      if (ranS >= LIMIT_S * 0.9 && (truth.floatStuck || truth.storeEmpty)) lockedUntil = at + LOCKED_MIN * 60_000;
      if (!truth.storeEmpty) cm += (ranS * RATE_L_PER_S * truth.topOffRate) / CHAMBER_L_PER_CM;
      const satisfied = !truth.floatStuck && (isContent || (canRun && !truth.storeEmpty));
      if (satisfied) {
        asking = false;
        reports.state('binary_sensor.low_float', at + (start + ranS) * SECOND_MS, false);
        if (truth.siphon && siphoned < 0) siphoned = 0;
      }
    }
    if (ranS === 0) reports.state('binary_sensor.low_float', at + 57 * SECOND_MS, asking);
    siphoned = flowOn(siphoned, truth.siphon);
    if (siphoned >= 0) cm += SIPHON_L_PER_MIN / CHAMBER_L_PER_CM;
    runMinute(ranS, truth.storeEmpty ? 0.55 : 1, at);
    if (paused && pausedFor <= 6) for (let s = 2; s < 60; s += 5) level(at + s * SECOND_MS, shown);
    else level(at + 7 * SECOND_MS, shown);
  };

  function runMinute(seconds: number, watts: number, at: number): void {
    // A run over the end of the minute is told of in both by the meter; here the second begins with a full one.
    reports.state('switch.top_off', at, true);
    pump?.minute(at, Math.min(1, seconds / 60), wattsOf('top_off') * watts, sdOf('top_off') * 0.5);
  }
}

/** Litres that went by themselves; −1 = nothing flows. Begins again with the next run once it has broken off. */
function flowOn(litres: number, isSiphon: boolean): number {
  if (!isSiphon || litres < 0) return -1;
  const next = litres + SIPHON_L_PER_MIN;
  return next > SIPHON_ENDS_L ? -1 : next;
}

function createRoModel({ seed, reports, plugs }: Shared): (minute: Minute) => void {
  const random = prng(seedFor(seed, 'wear ro'));
  const plug = plugs.get('ro_unit');
  if (plug === undefined) return () => {};
  let productL = 300;
  let feedL = 1_200;
  let feedMgPerL = 320;
  let endsAt = 0;
  let ranFor = 0;
  const told = new Map<string, number>();
  return ({ at, truth, weekday, ofDayMin, season }) => {
    if (ofDayMin === 0) feedMgPerL = 320 + 0.9 * (feedMgPerL - 320) + 12 * random.gaussian();
    const perHourL = 14.5 - 2.5 * Math.cos((2 * Math.PI * season) / 365);
    if ((weekday === 0 || weekday === 3) && ofDayMin === 360)
      endsAt = at + (43 / perHourL) * random.between(0.9, 1.1) * 3_600_000;
    const runs = at < endsAt;
    ranFor = runs ? ranFor + 1 : 0;
    if (runs) {
      productL += perHourL / 60;
      feedL += (perHourL * 4) / 60;
    } else if (truth.leakLPerH > 0) {
      productL += (truth.leakLPerH * 0.25) / 60;
      feedL += truth.leakLPerH / 60;
    }
    reports.state('switch.ro_unit', at, runs);
    plug.minute(at, runs ? 1 : 0, wattsOf('ro_unit'), sdOf('ro_unit'));
    const late = (): number => at + random.between(0, 4) * SECOND_MS;
    for (const [entity, litres] of [
      ['sensor.product_litres', productL],
      ['sensor.feed_litres', feedL],
    ] as const) {
      const pulses = Math.floor(litres * 10) / 10;
      if (pulses !== told.get(entity)) reports.put(entity, late(), pulses);
      told.set(entity, pulses);
    }
    if (ofDayMin % 5 !== 2) return;
    const ro = feedMgPerL * (1 - truth.rejection);
    // The first water after a pause carries what crept through.
    const creep = runs && ranFor < 12 ? 3 : 0;
    reports.put('sensor.feed_tds', late(), Math.round(feedMgPerL + 4 * random.gaussian()));
    reports.put(
      'sensor.ro_tds',
      late(),
      Math.max(0, Math.round(ro + 10 * (creep > 0 ? 1 : 0) + 0.4 * random.gaussian())),
    );
    reports.put(
      'sensor.product_tds',
      late(),
      Math.max(0, Math.round((runs ? truth.productMgPerL + creep : 0) + 0.2 * random.gaussian())),
    );
  };
}
