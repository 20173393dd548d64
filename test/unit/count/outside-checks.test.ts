import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { project, usageBetween } from '../../../src/count/index.ts';
import { dayStart, HOUR_MS, MINUTE_MS, nextDayStart, SECOND_MS } from '../../../src/units/index.ts';
import { check } from './check-values.ts';
import { foldRows, heldPower, lamp, meter, type Row, T0 } from './make.ts';

const best = (def: Parameters<typeof foldRows>[0], series: readonly Row[]): number => {
  const { state } = foldRows(def, series);
  const measure = def.measures[0] ?? 'days';
  return state.amounts[measure]?.best ?? Number.NaN;
};

const everyMinute = (values: readonly number[]): readonly Row[] =>
  values.map((value, index) => [T0 + index * MINUTE_MS, value]);

describe('totals with resets, taken at once as the hub takes them', () => {
  for (const id of ['counter-reset-1', 'counter-reset-2', 'counter-reset-3', 'counter-reset-5', 'counter-reset-6']) {
    test(id, () => {
      const { inputs, expected, near } = check<{ values: number[] }, { sum: number; reset_at_index: number[] }>(id);
      const { state, resets } = foldRows(meter('at-once'), everyMinute(inputs.values));
      near(state.amounts.litres?.best ?? Number.NaN, expected.sum);
      assert.deepEqual(
        resets.map(({ at }) => (at - T0) / MINUTE_MS),
        expected.reset_at_index,
      );
    });
  }

  test('ctr-reset: a fall that is the last reading counts too', () => {
    const { inputs, expected, near } = check<{ readings: number[] }, number>('ctr-reset');
    near(best(meter('at-once'), everyMinute(inputs.readings)), expected);
  });

  test('ctr-reset-vs-rollover: a fall is a reset, no rollover is guessed', () => {
    const { inputs, expected, near } = check<{ a: number; b: number }, { reset: number }>('ctr-reset-vs-rollover');
    near(best(meter('at-once'), everyMinute([inputs.a, inputs.b])), expected.reset);
  });
});

describe('totals with resets, confirmed by a second reading (our default)', () => {
  for (const id of ['counter-reset-1', 'counter-reset-2', 'counter-reset-3', 'counter-reset-6']) {
    test(`${id}: the same sum and the same resets`, () => {
      const { inputs, expected, near } = check<{ values: number[] }, { sum: number; reset_at_index: number[] }>(id);
      const { state, resets } = foldRows(meter(), everyMinute(inputs.values));
      near(state.amounts.litres?.best ?? Number.NaN, expected.sum);
      assert.deepEqual(
        resets.map(({ at }) => (at - T0) / MINUTE_MS),
        expected.reset_at_index,
      );
    });
  }

  test('counter-reset-5: 150 → 134.9 → 160 goes on from 150, so it is a false reading; the other sum is the upper bound', () => {
    const { inputs, expected, near } = check<{ values: number[] }, { sum: number }>('counter-reset-5');
    const { state, resets, doubts } = foldRows(meter(), everyMinute(inputs.values));
    assert.equal(state.amounts.litres?.best, 60);
    near(state.amounts.litres?.high ?? Number.NaN, expected.sum);
    assert.deepEqual(resets, []);
    assert.deepEqual(
      doubts.map(({ kind, before, after }) => ({ kind, before, after })),
      [{ kind: 'fall-taken-back', before: 150, after: 134.9 }],
    );
  });

  test('ctr-reset: a fall that is the last reading is only possible until a second one confirms it', () => {
    const { inputs, expected, near } = check<{ readings: number[] }, number>('ctr-reset');
    const series = everyMinute(inputs.readings);
    const { state } = foldRows(meter(), series);
    const last = series.at(-1)?.[0] ?? 0;
    const shown = project(meter(), state, last).litres;
    near((shown?.best ?? Number.NaN) + 3, expected);
    near(shown?.high ?? Number.NaN, expected);
    near(best(meter(), [...series, [last + MINUTE_MS, 3]]), expected);
  });

  test('counter-rule: 90 after 100 is no reset, anything less is; below zero is no reading', () => {
    assert.deepEqual(check<object, Record<string, string>>('counter-rule').expected, {
      reset: 'new < 90',
      '90 exactly': 'not a reset, dip',
      negative: 'rejected',
    });
    assert.equal(foldRows(meter('at-once'), everyMinute([100, 90])).resets.length, 0);
    assert.equal(foldRows(meter('at-once'), everyMinute([100, 89.999999])).resets.length, 1);
    assert.equal(foldRows(meter(), everyMinute([100, 90, 90])).resets.length, 0);
    assert.equal(foldRows(meter(), everyMinute([100, 89.999999, 89.999999])).resets.length, 1);
    const negative = foldRows(meter('at-once'), everyMinute([100, -5, 101]));
    assert.equal(negative.state.amounts.litres?.best, 1);
    assert.deepEqual(
      negative.doubts.map(({ kind }) => kind),
      ['negative'],
    );
  });
});

describe('energy from a held power reading', () => {
  const hours = (series: readonly (readonly number[])[]): readonly Row[] =>
    series.map(([t = 0, watts = 0]) => [T0 + t * HOUR_MS, watts]);
  const zip = (t: readonly number[], y: readonly number[]): number[][] => t.map((at, index) => [at, y[index] ?? 0]);
  const forEver = heldPower(1_000 * HOUR_MS);

  test('int-kwh: 54 W for 12 h', () => {
    const { inputs, expected, near } = check<{ watts: number[][] }, number>('int-kwh');
    near(best(forEver, hours(inputs.watts)), expected);
  });

  test('int-kwh-tariff: three levels a day', () => {
    const { inputs, expected, near } = check<{ profile_W_h: number[][] }, number>('int-kwh-tariff');
    let t = 0;
    const series = inputs.profile_W_h.map(([watts = 0, length = 0]) => {
      t += length;
      return [t - length, watts];
    });
    near(best(forEver, hours([...series, [t, 0]])), expected);
  });

  test('int-ramp and int-quadratic: the left step, as a held reading gives it', () => {
    const ramp = check<{ t_h: number[]; power_W: number[] }, { left_step: number }>('int-ramp');
    ramp.near(best(forEver, hours(zip(ramp.inputs.t_h, ramp.inputs.power_W))) * 1000, ramp.expected.left_step);
    const square = check<{ t: number[]; y: number[] }, { left_step: number }>('int-quadratic');
    square.near(best(forEver, hours(zip(square.inputs.t, square.inputs.y))) * 1000, square.expected.left_step);
  });

  for (const id of ['int-sine-4', 'int-sine-8', 'int-sine-48']) {
    test(`${id}: the left step of a sine`, () => {
      const { inputs, expected, near } = check<{ intervals: number }, { left_step: number }>(id);
      const t = Array.from({ length: inputs.intervals + 1 }, (_, index) => (24 * index) / inputs.intervals);
      const y = t.map((hour) => Math.max(0, 100 * Math.sin((Math.PI * hour) / 24)));
      near(best(forEver, hours(zip(t, y))) * 1000, expected.left_step);
    });
  }

  test('int-step-zoh: on and off events, the last one still running', () => {
    type Expected = { on_minutes: number; energy_Wh: number };
    const { inputs, expected, near } = check<{ events: number[][]; end_min: number }, Expected>('int-step-zoh');
    const series: readonly Row[] = inputs.events.map(([t = 0, watts = 0]) => [T0 + t * MINUTE_MS, watts]);
    const end = T0 + inputs.end_min * MINUTE_MS;
    const energy = foldRows(forEver, series).state;
    near((project(forEver, energy, end).energy?.best ?? Number.NaN) * 1000, expected.energy_Wh);
    const onTime = foldRows(lamp, series).state;
    near((project(lamp, onTime, end)['on-hours']?.low ?? Number.NaN) * 60, expected.on_minutes);
  });

  test('energy-irregular-1: uneven readings', () => {
    type Inputs = { t_s: number[]; P_W: number[] };
    const { inputs, expected, near } = check<Inputs, { left_hold_J: number }>('energy-irregular-1');
    const series: readonly Row[] = inputs.t_s.map((t, index) => [T0 + t * SECOND_MS, inputs.P_W[index] ?? 0]);
    near(best(forEver, series) * 3.6e6, expected.left_hold_J);
  });

  test('energy-window: the reading at the start of a window counts, the last one is held to its end', () => {
    type Inputs = { t_s: number[]; P_W: number[]; window_s: [number, number] };
    const { inputs, expected, near } = check<Inputs, { left_hold_J: number }>('energy-window');
    const series: readonly Row[] = inputs.t_s.map((t, index) => [T0 + t * SECOND_MS, inputs.P_W[index] ?? 0]);
    const [from, to] = inputs.window_s;
    const atStart = foldRows(
      forEver,
      series.filter(([at]) => at <= T0 + from * SECOND_MS),
    ).state;
    const before = project(forEver, atStart, T0 + from * SECOND_MS).energy?.best ?? Number.NaN;
    const after = project(forEver, foldRows(forEver, series).state, T0 + to * SECOND_MS).energy?.best ?? Number.NaN;
    near((after - before) * 3.6e6, expected.left_hold_J);
  });

  test('int-gap-rule: a stretch longer than a reading may be held proves nothing', () => {
    type Expected = { counted_min: number; Wh_counted: number; Wh_if_gap_held: number };
    type Inputs = { samples_min_W: number[][]; max_gap_min: number };
    const { inputs, expected, near } = check<Inputs, Expected>('int-gap-rule');
    const def = heldPower(inputs.max_gap_min * MINUTE_MS, 50);
    const series: readonly Row[] = inputs.samples_min_W.map(([t = 0, watts = 0]) => [T0 + t * MINUTE_MS, watts]);
    const { low = Number.NaN, high = Number.NaN } = foldRows(def, series).state.amounts.energy ?? {};
    near(low * 1000, expected.Wh_counted);
    near(high * 1000, expected.Wh_if_gap_held);
  });

  test('energy-gap-cap: dropped is the proven figure, capped the likely one, held throughout the possible one', () => {
    type Expected = Record<'left_hold_gap_dropped_Wh' | 'left_hold_gap_capped_Wh' | 'left_hold_all_Wh', number>;
    type Inputs = { t_s: number[]; P_W: number[]; max_gap_s: number };
    const { inputs, expected, near } = check<Inputs, Expected>('energy-gap-cap');
    const def = heldPower(inputs.max_gap_s * SECOND_MS, inputs.P_W[0]);
    const series: readonly Row[] = inputs.t_s.map((t, index) => [T0 + t * SECOND_MS, inputs.P_W[index] ?? 0]);
    const {
      low = Number.NaN,
      best: likely = Number.NaN,
      high = Number.NaN,
    } = foldRows(def, series).state.amounts.energy ?? {};
    near(low * 1000, expected.left_hold_gap_dropped_Wh);
    near(likely * 1000, expected.left_hold_gap_capped_Wh);
    near(high * 1000, expected.left_hold_all_Wh);
  });
});

describe('on-time', () => {
  test('int-ontime-irregular and int-trap-vs-left-bias: on until seen off', () => {
    type Inputs = { t_min: number[]; state_after_sample: number[] };
    const { inputs, expected, near } = check<Inputs, { on_min: number }>('int-ontime-irregular');
    const series: readonly Row[] = inputs.t_min.map((t, index) => [
      T0 + t * MINUTE_MS,
      inputs.state_after_sample[index] ?? 0,
    ]);
    const hours = foldRows(lamp, series).state.amounts['on-hours'];
    near((hours?.best ?? Number.NaN) * 60, expected.on_min);
    const left = check<object, { left: number }>('int-trap-vs-left-bias');
    left.near((hours?.low ?? Number.NaN) * 60, left.expected.left);
  });

  test('dst-ontime-split: thirteen hours by the wall are twelve real ones, cut at local midnight', () => {
    type Inputs = { zone: string; on: string; off: string };
    type Expected = { total_s: number; day_0329_s: number; day_0330_s: number };
    const { inputs, expected, near } = check<Inputs, Expected>('dst-ontime-split');
    const on = Date.parse(inputs.on);
    const off = Date.parse(inputs.off);
    const { state, slices } = foldRows(lamp, [
      [on - HOUR_MS, 0],
      [on, 1],
      [off, 0],
    ]);
    near((state.amounts['on-hours']?.best ?? Number.NaN) * 3600, expected.total_s);
    const midnight = nextDayStart(on, inputs.zone);
    const saturday = usageBetween(slices, 'on-hours', dayStart(on, inputs.zone), midnight);
    const sunday = usageBetween(slices, 'on-hours', midnight, nextDayStart(off, inputs.zone));
    near(saturday.best * 3600, expected.day_0329_s);
    near(sunday.best * 3600, expected.day_0330_s);
    assert.deepEqual(
      [saturday.low, sunday.high],
      [saturday.best, sunday.best],
      'the border is a full hour: nothing doubtful',
    );
  });
});
