import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { buildPlan, type SessionPlan } from '../../../src/procedure/index.ts';
import { at, full, inThisOrder, MINUTE, stepOf } from './plan-reading.ts';
import { small } from './tanks.ts';

// What people who look after reef tanks do, held against the plans. Every fact here: common practice, no source.

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
    assert.deepEqual(on.expectW, { low: 159, high: 183, pieces: 3 });
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
