// What the hub heard of the past: switches, watts, meters and sensors, with delays, noise, losses and gaps.
import { HOUR_MS, type InstantMs, MINUTE_MS, SECOND_MS } from '../../units/index.ts';
import { atLocal, localTime } from '../calendar.ts';
import { type Prng, prng, seedFor } from '../random.ts';
import { devicePower, isHeatSpell, LED_DAY, ledLevel, PLUGS, type PlugKey, roomC } from '../tank/index.ts';
import { cleanedBefore, RO_TDS_MG_PER_L } from './facts.ts';
import { type Gap, type RowBuilder, rowBuilder } from './rows.ts';
import type { Runs, Total } from './truth.ts';

export type SeriesSpan = { readonly from: InstantMs; readonly to: InstantMs };

/** Steady watts are kept this coarsely. */
const SAMPLE_MS = 30 * MINUTE_MS;
const LOST_SHARE = 0.003;

export function switchRows(runs: Runs, span: SeriesSpan, random: Prng): RowBuilder {
  const rows = rowBuilder();
  const reported = (at: InstantMs): InstantMs => at + random.between(0.2, 1.5) * SECOND_MS;
  if (runs.count === 0 || runs.from(0) > span.from) rows.push(span.from, 0);
  for (let index = 0; index < runs.count; index += 1) {
    rows.push(reported(runs.from(index)), 1);
    if (Number.isFinite(runs.to(index))) rows.push(reported(runs.to(index)), 0);
  }
  return rows;
}

type Meter = { readonly gain: number; readonly openW: number };

/** Watts of one plug: an edge is heard a moment later, or a minute later where its report was lost. */
export function powerRows(key: PlugKey, runs: Runs, span: SeriesSpan, meter: Meter, random: Prng): RowBuilder {
  const rows = rowBuilder();
  const heardAfter = (): number =>
    random.next() < LOST_SHARE ? random.between(55, 64) * SECOND_MS : random.between(1, 3) * SECOND_MS;
  const quiet = key === 'doser' ? 2 * meter.gain : meter.openW;
  if (runs.count === 0 || runs.from(0) > span.from) rows.push(span.from, quiet);
  for (let index = 0; index < runs.count; index += 1) {
    const from = Math.max(runs.from(index), span.from);
    const to = Math.min(runs.to(index), span.to);
    if (from >= to) continue;
    const stillOn = !Number.isFinite(runs.to(index)) || runs.to(index) > span.to;
    for (let at = from + heardAfter(); at < to; at = nextSampleAt(key, at, from)) {
      const load = { at, onForMs: at - from, cleanedAt: cleanedBefore(key, at), working: true };
      const { meanPowerW } = devicePower(key, load);
      rows.push(at, meanPowerW * meter.gain + PLUGS[key].sdW * random.gaussian());
    }
    if (!stillOn) rows.push(to + heardAfter(), quiet);
  }
  return rows;
}

function nextSampleAt(key: PlugKey, at: InstantMs, onSince: InstantMs): InstantMs {
  const warmingUp = (key === 'lamp_bank_1' || key === 'lamp_bank_2') && at - onSince < 4 * MINUTE_MS;
  if (warmingUp) return at + MINUTE_MS;
  if (key === 'led_strip') {
    const { ofDayMs } = localTime(at);
    const ramping = ofDayMs < LED_DAY.fromMs + HOUR_MS || ofDayMs > LED_DAY.toMs - HOUR_MS - SAMPLE_MS;
    if (ramping) return at + 2 * MINUTE_MS;
  }
  return at + SAMPLE_MS;
}

/** A litre meter: pulses of 0.1 L, heard a few seconds late. */
export function meterRows(total: Total, litresOf: (value: number) => number, random: Prng): RowBuilder {
  const rows = rowBuilder();
  for (let index = 0; index < total.count; index += 1) {
    const litres = Math.floor(litresOf(total.value(index)) * 10 + 1e-6) / 10;
    rows.push(total.at(index) + random.between(0, 4) * SECOND_MS, litres);
  }
  return rows;
}

/** Slow sensors, kept every half hour. */
export function sensorRows(entity: string, span: SeriesSpan, random: Prng): RowBuilder | undefined {
  const read = SLOW_SENSORS[entity];
  if (read === undefined) return undefined;
  const rows = rowBuilder();
  for (let at = span.from; at < span.to; at += SAMPLE_MS)
    rows.push(at + random.between(0, 4) * SECOND_MS, read(at, random));
  return rows;
}

const hourOf = (at: InstantMs): number => localTime(at).ofDayMs / HOUR_MS;

const displayC = (at: InstantMs): number =>
  (isHeatSpell(localTime(at).day) ? 27.2 : 25.45) + 0.12 * Math.sin((2 * Math.PI * (hourOf(at) - 10)) / 24);

const SLOW_SENSORS: Readonly<Record<string, (at: InstantMs, random: Prng) => number>> = {
  'sensor.display_temperature': (at, random) => displayC(at) + 0.05 * random.gaussian(),
  'sensor.sump_temperature': (at, random) => displayC(at) - 0.03 + 0.05 * random.gaussian(),
  'sensor.room_temperature': (at, random) => roomC(at) + 0.2 * random.gaussian(),
  'sensor.sump_level': (_, random) => 20 + 0.18 * random.gaussian() + (random.next() < 0.01 ? 2 : 0),
  'sensor.salinity': (at, random) => 35 + 0.05 * ((localTime(at).day % 30) / 7) + 0.1 * random.gaussian(),
  'sensor.ph': (at, random) =>
    8.175 + 0.125 * Math.sin((2 * Math.PI * (hourOf(at) - 12)) / 24) + 0.02 * random.gaussian(),
  'sensor.ro_tds': (_, random) => RO_TDS_MG_PER_L + 0.4 * random.gaussian(),
  'sensor.lux': (at, random) => luxAt(at) * (1 + 0.03 * random.gaussian()),
};

function luxAt(at: InstantMs): number {
  const hour = hourOf(at);
  const banks = (hour >= 9.5 && hour < 18.5 ? 9_400 : 0) + (hour >= 11 && hour < 17 ? 9_400 : 0);
  return 40 + banks + (hour >= 7.5 && hour < 21 ? 6_000 * ledLevel(at) : 0);
}

/** Network gaps: a handful in the whole record, some minutes to an hour and a half each, all devices together. */
export function networkGaps(seed: number, firstDay: number, lastDay: number): readonly Gap[] {
  const random = prng(seedFor(seed, 'network gaps'));
  const gaps: Gap[] = [];
  for (let day = firstDay + 20 + 40 * random.next(); day < lastDay - 5; day += random.between(45, 110)) {
    const from = atLocal(Math.floor(day), 0) + random.between(0, 24) * HOUR_MS;
    gaps.push({ from, to: from + random.between(4, 90) * MINUTE_MS });
  }
  return gaps;
}
