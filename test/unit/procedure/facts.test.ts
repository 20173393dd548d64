import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import type { Part, Tank } from '../../../src/model/index.ts';
import { buildPlan, rehearse, type SessionPlan, type Step } from '../../../src/procedure/index.ts';
import { RULES } from '../../../src/rules/index.ts';
import { equipment, reef, sensor, small } from './tanks.ts';

// What people who look after reef tanks do, held against the plans. Every fact here: common practice, no source.

const MINUTE = 60_000;
const tubes = (bank: string, pieces: number): Part => ({
  id: `${bank}-tubes`,
  name: `tubes of ${bank}`,
  kind: 'fluorescent-tubes',
  equipment: bank,
  pieces,
  limits: [],
  safety: false,
  usageFrom: {},
  usedBefore: {},
});
const full = (): Tank => {
  const tank = reef();
  return {
    ...tank,
    parts: [tubes('lamp', 3)],
    sensors: [
      ...tank.sensors,
      sensor('low', 'low-float'),
      sensor('high', 'high-float'),
      sensor('product', 'product-tds'),
      sensor('salinity', 'salinity'),
    ],
  };
};
const at = (plan: SessionPlan, id: string): number => {
  const index = plan.steps.findIndex((step) => step.id === id || step.id.startsWith(`${id}:`));
  assert.ok(index >= 0, `no step ${id} among ${plan.steps.map((step) => step.id).join(' ')}`);
  return index;
};
const stepOf = (plan: SessionPlan, id: string): Step => plan.steps[at(plan, id)] as Step;
const inThisOrder = (plan: SessionPlan, ...ids: string[]): void => {
  const places = ids.map((id) => at(plan, id));
  assert.deepEqual(
    places,
    places.toSorted((a, b) => a - b),
    ids.join(' → '),
  );
};

describe('lamps', () => {
  const plan = buildPlan('lamp-set-change', full());

  test('are switched off, cool and are unplugged before any tube is touched', () => {
    inThisOrder(plan, 'off:lamp', 'rest:lamp', 'unplug:lamp', 'hands-on:tube:lamp:1');
    assert.equal(stepOf(plan, 'rest:lamp').waitMs, 15 * MINUTE);
    assert.equal(stepOf(plan, 'rest:lamp').waitFrom, 'off:lamp');
    assert.match(stepOf(plan, 'hands-on:tube:lamp:1').cautions.join(' '), /mercury/);
  });

  test('are swapped one by one, each with a word of its own', () => {
    inThisOrder(plan, 'hands-on:tube:lamp:1', 'hands-on:tube:lamp:2', 'hands-on:tube:lamp:3', 'plug-in:lamp');
    assert.equal(plan.steps.filter((step) => step.id.startsWith('hands-on:tube:')).length, 3);
    assert.match(stepOf(plan, 'hands-on:tube:lamp:2').text, /tube 2 of 3 .*before the next one is touched/);
  });

  test('are switched on afterwards, even in the evening, to see that all of them work', () => {
    const on = stepOf(plan, 'on:lamp');
    assert.equal(on.evenIfOff, true);
    // Three tubes of 57 W, within 7 %: two tubes, 114 W, are far below.
    assert.deepEqual(on.expectW, { low: 159, high: 183 });
    inThisOrder(plan, 'on:lamp', 'look:all-lit:lamp', 'finish');
    assert.match(stepOf(plan, 'look:all-lit').text, /all tubes lit, and does none flicker/);
  });

  test('start with six tenths of their hours and reach the full ones in weeks', () => {
    assert.match(plan.notes.join(' '), /60 % of their hours on the first day .* over 18 days/);
  });

  test('stop nothing else', () => {
    assert.deepEqual(plan.outOfService, ['lamp']);
  });
});

describe('top-off floats', () => {
  const plan = buildPlan('float-sensor-swap', full());

  test('the lower one asks for water and the higher one cuts it off, each seen three times before it is trusted', () => {
    const low = stepOf(plan, 'observe:low-float');
    assert.deepEqual(low.observe, { entity: 'sensor.low', is: 'on', times: 3 });
    const high = stepOf(plan, 'observe:high-float');
    assert.deepEqual(high.observe, { entity: 'sensor.high', is: 'on', times: 3 });
    assert.match(low.text, /LOW float down/);
    assert.match(high.text, /Lift the HIGH float/);
  });

  test('the wiring is proved with the pump unplugged, and then with the pump', () => {
    inThisOrder(
      plan,
      'unplug:top-off',
      'hands-on:floats',
      'observe:low-float',
      'observe:high-float',
      'plug-in:top-off',
    );
    inThisOrder(plan, 'on:top-off', 'observe:low-runs', 'observe:high-cuts', 'look:run-limit');
    assert.deepEqual(stepOf(plan, 'observe:low-runs').observe, {
      entity: 'sensor.top_off_power',
      is: 'at-least',
      value: 4.5,
    });
    assert.equal(stepOf(plan, 'observe:high-cuts').observe?.is, 'at-most');
  });

  test('without sensors a person sees both', () => {
    const blind = buildPlan('float-sensor-swap', { ...small(), sensors: [] });
    for (const id of ['look:low-float', 'look:high-float']) assert.equal(stepOf(blind, id).holdPoint, true);
  });
});

describe('a skimmer whose lead parts on its low-voltage side', () => {
  const tank = small();
  const parted = {
    ...tank,
    equipment: tank.equipment.map((each) => (each.id === 'skimmer' ? { ...each, quickDisconnect: true } : each)),
  };
  const plan = buildPlan('skimmer-service', parted);

  test('is off and proved before it is parted, with a caution about parting under load', () => {
    inThisOrder(plan, 'off:skimmer', 'unplug:skimmer');
    assert.equal(stepOf(plan, 'off:skimmer').needed, 3);
    const unplug = stepOf(plan, 'unplug:skimmer');
    assert.match(unplug.text, /Only when skimmer is proved off: part the quick-disconnect .* never under load/);
    assert.match(unplug.text, /If it is not proved off, pull the mains plug instead/);
    assert.match(unplug.cautions.join(' '), /parted under load it arcs/);
    assert.match(unplug.cautions[0] ?? '', /local electrical code/);
  });

  test('changes no step of the plan', () => {
    const ids = (one: SessionPlan) => one.steps.map((step) => step.id);
    assert.deepEqual(ids(plan), ids(buildPlan('skimmer-service', tank)));
  });
});

describe('a water change', () => {
  const plan = buildPlan('water-change', full());

  test('has its filter sock in before and out after', () => {
    inThisOrder(
      plan,
      'hands-on:sock-in',
      'off:top-off',
      'hands-on:siphon-out',
      'hands-on:pour-in',
      'hands-on:sock-out',
    );
    inThisOrder(plan, 'on:skimmer', 'hands-on:sock-out', 'mark:top-off', 'on:top-off');
  });

  test('begins only with a batch that is old enough and matches', () => {
    for (const id of ['batch-age', 'batch-salinity', 'batch-temperature', 'batch-alkalinity'])
      assert.ok(at(plan, `reading:${id}`) < at(plan, 'off:top-off'), id);
    assert.deepEqual(stepOf(plan, 'reading:batch-age').reading, { quantity: 'age-h', low: 4 });
    assert.equal(stepOf(plan, 'reading:batch-salinity').reading?.tolerance, 0.5);
    assert.equal(stepOf(plan, 'reading:batch-temperature').reading?.tolerance, 1);
    assert.equal(stepOf(plan, 'reading:tank-salinity').reading?.entity, 'sensor.salinity');
  });

  test('puts in what came out, within 2 L', () => {
    assert.deepEqual(stepOf(plan, 'reading:litres-in').reading, {
      quantity: 'volume-l',
      sameAs: 'reading:litres-out',
      tolerance: 2,
    });
    inThisOrder(plan, 'reading:litres-out', 'reading:litres-in', 'on:return-b', 'wait:mixed', 'reading:salinity-after');
  });

  test('cools the heaters 15 min before the return stops', () => {
    inThisOrder(plan, 'off:heater-2', 'wait:heater-2', 'off:return-a');
    assert.equal(stepOf(plan, 'wait:heater-2').waitMs, 15 * MINUTE);
  });
});

describe('new RO/DI filters', () => {
  const plan = buildPlan('rodi-service', full());

  test('run to waste for an hour, counted from the start of the water', () => {
    assert.equal(stepOf(plan, 'wait:flush').waitMs, 60 * MINUTE);
    assert.equal(stepOf(plan, 'wait:flush').waitFrom, 'on:ro');
    inThisOrder(plan, 'on:ro', 'wait:flush', 'off:ro:2', 'hands-on:resin-in', 'on:ro:2', 'reading:product-tds');
  });

  test('fill the store only after the product has passed at 1 mg/L or less', () => {
    assert.deepEqual(stepOf(plan, 'reading:product-tds').reading, {
      quantity: 'tds-mg-per-l',
      low: 0,
      high: 1,
      entity: 'sensor.product',
    });
    inThisOrder(plan, 'hands-on:ro-close', 'reading:product-tds', 'hands-on:store-line');
    assert.match(stepOf(plan, 'hands-on:ro-close').text, /product line off the store/);
  });
});

describe('a heater swap', () => {
  const plan = buildPlan('heater-swap:heater-1', full());

  test('lifts cold glass and powers soaked glass', () => {
    inThisOrder(plan, 'off:heater-1', 'unplug:heater-1', 'cool:heater-1', 'hands-on:heater-out', 'wait:soak');
    inThisOrder(plan, 'wait:soak', 'plug-in:heater-1', 'on:heater-1', 'look:heats:heater-1');
    assert.equal(stepOf(plan, 'cool:heater-1').waitMs, 15 * MINUTE);
    assert.equal(stepOf(plan, 'cool:heater-1').waitFrom, 'unplug:heater-1');
    assert.equal(stepOf(plan, 'wait:soak').waitMs, 20 * MINUTE);
    assert.equal(stepOf(plan, 'wait:soak').waitFrom, 'hands-on:heater-out:heater-1');
  });

  test('leaves the other one in service', () => {
    assert.deepEqual(plan.handled, ['heater-1']);
    assert.ok(!plan.outOfService.includes('heater-2'));
  });
});

describe('the UV unit and the reactors', () => {
  test('the UV lamp comes on last, with its cap closed and water running', () => {
    const plan = buildPlan('uv-service', full());
    inThisOrder(plan, 'off:uv', 'rest:uv', 'unplug:uv', 'hands-on:uv-tight', 'hands-on:uv-lamp-in', 'plug-in:uv');
    inThisOrder(plan, 'plug-in:uv', 'look:uv-closed:uv', 'on:uv');
    assert.match(stepOf(plan, 'hands-on:uv-open').cautions.join(' '), /UV lamp outside its closed housing/);
  });

  test('a harvest weighs the algae and throws standing water away', () => {
    const plan = buildPlan('reactor-harvest', full());
    assert.deepEqual(new Set(plan.handled), new Set(['algae-lamp', 'algae', 'reactor']));
    inThisOrder(
      plan,
      'hands-on:algae-cut',
      'reading:algae-grams',
      'hands-on:reactor-shut',
      'on:algae',
      'on:algae-lamp',
    );
    assert.match(stepOf(plan, 'hands-on:reactor-shut').text, /Throw the water of the housings away/);
  });

  test('after a long stop somebody says that no old water stands in a closed vessel', () => {
    const plan = buildPlan('return-pump-service', full());
    inThisOrder(plan, 'look:emptied:reactor', 'on:reactor');
    assert.match(stepOf(plan, 'look:emptied:reactor').text, /more than 6 h/);
    assert.match(stepOf(plan, 'look:emptied:algae').text, /more than 2 h/);
  });
});

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
