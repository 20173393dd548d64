import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import type { Tank } from '../../../src/model/index.ts';
import { buildPlan, rehearse } from '../../../src/procedure/index.ts';
import { RULES } from '../../../src/rules/index.ts';
import { at, full, inThisOrder, MINUTE, stepOf } from './plan-reading.ts';
import { equipment, sensor, small } from './tanks.ts';

// What people who look after reef tanks do, held against the plans. Every fact here: common practice, no source.

describe('a leak', () => {
  const leak = buildPlan('leak-response', {
    ...full(),
    sensors: [sensor('wet', 'leak'), sensor('sump', 'sump-level')],
  });

  test('stops what adds water first and never the return', () => {
    assert.deepEqual(
      leak.steps.slice(0, 2).map((step) => step.id),
      ['take-over:top-off', 'off:top-off'],
    );
    assert.ok(at(leak, 'off:doser') < at(leak, 'check:ready'));
    for (const id of ['return-a', 'return-b', 'flow-left']) assert.ok(!leak.outOfService.includes(id), id);
    assert.equal(leak.leak, true);
  });

  test('brings nothing back before it has been dry for ten minutes, what adds water one by one', () => {
    inThisOrder(leak, 'observe:dry', 'wait:stays-dry', 'observe:still-dry', 'on:heater-2');
    assert.equal(stepOf(leak, 'wait:stays-dry').waitMs, 10 * MINUTE);
    inThisOrder(
      leak,
      'look:release:doser',
      'on:doser',
      'look:release:ro',
      'on:ro',
      'look:release:top-off',
      'on:top-off',
    );
  });

  test('the return can be stopped too where the keeper says so, with its room checked', () => {
    const plan = buildPlan('leak-response+return-a+return-b', full());
    inThisOrder(plan, 'wait:heater-2', 'off:return-a', 'settle:rise');
  });
});

describe('a power cut', () => {
  const plan = buildPlan('power-cut-restart', full());

  test('circulation, return, heat, UV, reactors, skimmer, dosers, top-off last', () => {
    inThisOrder(plan, 'wait:mains-steady', 'check:ready', 'look:dark-plugs', 'off:top-off', 'on:flow-back');
    inThisOrder(plan, 'on:flow-left', 'on:return-b', 'on:heater-1', 'on:uv', 'on:reactor', 'on:skimmer', 'on:doser');
    inThisOrder(plan, 'on:doser', 'reading:usual-level', 'on:top-off', 'look:animals');
  });

  test('starts what always runs even if it came back dark, but no barrel and no schedule', () => {
    for (const id of ['on:return-a', 'on:flow-left', 'on:skimmer', 'on:heater-2', 'on:uv'])
      assert.equal(stepOf(plan, id).evenIfOff, true, id);
    for (const id of ['on:ro', 'on:mixer', 'on:barrel-heater', 'on:heater-1', 'on:top-off'])
      assert.equal(stepOf(plan, id).evenIfOff, undefined, id);
  });
});

describe('commissioning', () => {
  const plan = buildPlan('commissioning', full());

  test('each plug goes off and on with a hand on it, never two at a time', () => {
    for (const id of ['top-off', 'skimmer', 'heater-1', 'lamp', 'flow-left'])
      inThisOrder(plan, `hold:${id}`, `off:${id}`, `seen:${id}`, `on:${id}`);
    const first = plan.steps.slice(0, at(plan, 'off:return-a'));
    let off = 0;
    for (const step of first.slice(0, at(plan, 'on:flow-back'))) {
      if (step.action === 'switch-off') off += 1;
      if (step.action === 'switch-on') off -= 1;
      assert.ok(off <= 1, step.id);
    }
  });

  test('ends with one supervised drain-down, which is written down', () => {
    inThisOrder(
      plan,
      'off:top-off:2',
      'off:skimmer:2',
      'wait:heater-2',
      'off:return-a',
      'settle:rise',
      'reading:drain-level',
    );
    assert.deepEqual(plan.lifeSupport, ['return-a', 'return-b']);
  });
});

describe('the annual overhaul', () => {
  const tank = { ...full(), lights: { onMinute: 7 * 60, offMinute: 21 * 60 + 30 } };
  const eight = Date.UTC(2026, 8, 7, 6);
  const plan = buildPlan('annual overhaul', tank, {}, { at: eight });

  test('is found by its title, and keeps the order of the trade', () => {
    assert.equal(plan.procedure, 'annual-overhaul');
    // Earth-leakage test while nothing is held; filters first, their flush runs by itself.
    inThisOrder(plan, 'look:rcd-test', 'check:ready', 'off:ro', 'hands-on:ro-cartridges', 'on:ro', 'off:lamp');
    // Lamps dry and before any water work; then everything that is warm at once; the skimmer out.
    inThisOrder(plan, 'off:lamp', 'hands-on:tube:lamp:3', 'look:all-lit', 'off:ro:2', 'off:top-off', 'off:skimmer');
    inThisOrder(plan, 'off:skimmer', 'off:heater-2', 'off:uv', 'hands-on:lift', 'hands-on:algae-cut');
    // Reactors, siphon hole, return; heater, floats, dirt; the water change.
    inThisOrder(plan, 'hands-on:algae-cut', 'look:siphon-hole', 'off:return-a', 'settle:rise', 'hands-on:return-out');
    inThisOrder(plan, 'hands-on:return-out', 'hands-on:heater-out', 'hands-on:floats', 'hands-on:vacuum');
    inThisOrder(plan, 'hands-on:vacuum', 'hands-on:siphon-out', 'hands-on:pour-in', 'on:return-b', 'on:heater-2');
    // Restore, resin and product, floats in real water, top-off last.
    inThisOrder(plan, 'on:heater-2', 'on:uv', 'on:reactor', 'on:skimmer', 'on:doser', 'reading:product-tds');
    inThisOrder(plan, 'reading:product-tds', 'mark:top-off', 'on:top-off', 'observe:low-runs', 'look:tomorrow');
  });

  test('says what is done in the days before, and when to stop lifting parts', () => {
    const notes = plan.notes.join(' ');
    for (const words of ['Two weeks before', 'Three days before', 'The day before', '90 min before lights-out'])
      assert.ok(notes.includes(words), words);
    assert.match(notes, /Afterwards say what was renewed.*lamp-tubes\. A set counts as renewed only/);
  });

  test('what waits for itself does not make anybody wait', () => {
    const seen = rehearse(plan, tank, {}, { at: eight });
    const takes = (id: string) => seen.steps[at(plan, id)]?.takesMs ?? Number.NaN;
    assert.ok(takes('wait:soak') <= MINUTE, 'the heater soaks while the floats are changed');
    assert.equal(takes('wait:heater-2'), 0, 'the heaters cool while the reactors are harvested');
    assert.ok(takes('wait:flush') <= 20 * MINUTE, 'the membrane flushes while the tubes are changed');
  });

  test('fits in a day with hours of daylight left', () => {
    const seen = rehearse(plan, tank, {}, { at: eight });
    assert.ok(seen.totalMs < 12 * 60 * MINUTE, `${seen.totalMs / 3_600_000} h`);
    const dark = eight + (13 * 60 + 30) * MINUTE;
    assert.ok(dark - (seen.endsAt ?? Number.POSITIVE_INFINITY) >= 2 * 60 * MINUTE);
    assert.equal(plan.endBy, dark - 60 * MINUTE);
  });

  test('one heater stays as the spare path, and the pumps of the display are never all off', () => {
    assert.equal(plan.handled.filter((id) => id.startsWith('heater')).length, 1);
    for (const id of ['flow-left', 'flow-right', 'flow-back']) {
      const off = at(plan, `off:${id}`);
      const next = plan.steps.slice(off + 1).find((step) => ['switch-off', 'switch-on'].includes(step.action));
      assert.equal(next?.id, `on:${id}`);
      assert.ok(off < at(plan, 'off:return-a'));
    }
  });
});

describe('long stops and the light', () => {
  const tank = { ...full(), lights: { onMinute: 9 * 60, offMinute: 18 * 60 } };
  // Amsterdam in September is two hours ahead.
  const clock = (hour: number): number => Date.UTC(2026, 8, 7, hour - 2);
  const refusal = (hour: number, procedure = 'return-pump-service'): string => {
    try {
      buildPlan(procedure, tank, {}, { at: clock(hour) });
    } catch (error) {
      return `${String(error)} ${(error as { whatToDo?: string }).whatToDo ?? ''}`;
    }
    return '';
  };

  test('begin in the light and end an hour before dark', () => {
    assert.equal(refusal(10), '');
    assert.match(refusal(8), /rule K33.*\. .*Begin about an hour after 09:00/s);
    assert.match(
      refusal(17),
      /must be over 1 h before the lights go out \(09:00 to 18:00\).*rule K33.*Begin by 15:0\d/s,
    );
    assert.match(refusal(12, 'annual-overhaul'), /does not fit between lights-on and lights-out|Begin by/);
  });

  test('do not concern a short pause, nor what leaves the flow alone', () => {
    assert.equal(refusal(23, 'pump-pause'), '');
    assert.equal(refusal(23, 'skimmer-service'), '');
    assert.equal(refusal(23, 'power-cut-restart'), '');
  });
});

describe('food and still water', () => {
  const fed: Tank = { ...small(), equipment: [...small().equipment, equipment('feeder', 'feeder')] };

  test('nothing is fed from half an hour before a long stop, nor within a quarter of an hour after', () => {
    const plan = buildPlan('return-pump-service', fed);
    inThisOrder(plan, 'look:fed', 'off:feeder', 'off:return', 'on:return', 'after:feeder', 'on:feeder');
    assert.match(stepOf(plan, 'look:fed').text, /fed for 30 min, .* until 15 min after/);
    assert.equal(stepOf(plan, 'after:feeder').waitMs, 15 * MINUTE);
  });

  test('a pause for feeding asks nothing of the kind', () => {
    assert.ok(!buildPlan('pump-pause', fed).steps.some((step) => step.id === 'look:fed'));
  });
});

describe('all water standing still', () => {
  test('needs somebody who stays, or a timer outside this service, and says so before the last stop', () => {
    assert.throws(() => buildPlan('pump-pause+flow', small()), { code: 'SW-SES-003' });
    const plan = buildPlan('pump-pause+flow+person-stays', small());
    inThisOrder(plan, 'off:return', 'presence', 'off:flow');
    assert.match(stepOf(plan, 'presence').text, /You stay at the tank .* 60 min at most/);
    assert.deepEqual(plan.allStop, { warnMs: 15 * MINUTE, alarmMs: 30 * MINUTE, hardMs: 60 * MINUTE });
    assert.deepEqual(plan.lifeSupport, ['return', 'flow']);
    assert.match(stepOf(buildPlan('pump-pause+flow+outside-timer', small()), 'presence').text, /timer of the plug/);
  });

  test('has half the time in the dark', () => {
    const tank = { ...small(), lights: { onMinute: 9 * 60, offMinute: 18 * 60 } };
    const plan = buildPlan('pump-pause+flow+person-stays', tank, {}, { at: Date.UTC(2026, 8, 7, 21) });
    assert.deepEqual(plan.allStop, { warnMs: 7.5 * MINUTE, alarmMs: 15 * MINUTE, hardMs: 30 * MINUTE });
  });
});

describe('several of a kind, and choices', () => {
  test('two heaters: one is named; the other one cannot be added', () => {
    assert.throws(() => buildPlan('heater-swap', full()), /Choose|stand in for one another/);
    assert.deepEqual(buildPlan('heater-swap:heater-2', full()).handled, ['heater-2']);
  });

  test('a lamp bank of two is chosen by name', () => {
    const tank = full();
    const two = { ...tank, equipment: [...tank.equipment, equipment('lamp-2', 'fluorescent-bank')] };
    assert.deepEqual(buildPlan('lamp-set-change:lamp-2', two).handled, ['lamp-2']);
    assert.match(buildPlan('lamp-set-change:lamp-2', two).notes.join(' '), /nobody told how many tubes/);
  });

  test('an equipment that is not there is named with what is there', () => {
    assert.throws(() => buildPlan('heater-swap:heater-9', full()), /there is no equipment "heater-9"/);
  });

  test('what was served by the trade’s rules names them', () => {
    const named = new Set(
      ['annual-overhaul', 'leak-response', 'power-cut-restart', 'commissioning', 'pump-pause']
        .map((id) => buildPlan(id, full()))
        .flatMap((plan) => plan.steps.map((step) => step.rule)),
    );
    for (const rule of named) assert.ok(Object.hasOwn(RULES, rule), rule);
    for (const rule of [
      'K1',
      'K2',
      'K3',
      'K4',
      'K6',
      'K7',
      'K8',
      'K9',
      'K11',
      'K13',
      'K17',
      'K20',
      'K21',
      'K22',
      'K23',
    ])
      assert.ok(named.has(rule), rule);
  });
});
