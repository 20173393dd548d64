// What keepers take for granted, common practice with no source: each must come out of the shipped rules, of the program's own
// arithmetic and of the demonstration tank, as for any other tank.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { loadConfig } from '../../src/config/index.ts';
import type { Part, PartLife } from '../../src/model/index.ts';
import { buildPlan } from '../../src/procedure/index.ts';
import { lifeUsage } from '../../src/record/index.ts';
import { standingOf } from '../../src/remind/index.ts';
import { COMMON_PRACTICE, NEW_SALT_WATER, PARTS, RULES, ruleSetting } from '../../src/rules/index.ts';
import { DEMO_ZONE, demoTankYaml } from '../../src/sim/index.ts';
import { DAY_MS, MINUTE_MS, parseQuantity } from '../../src/units/index.ts';
import { gravityOf, MARKED_CONVENTIONS, RULE_OF_THUMB, salinityOfGravity } from '../../src/water/index.ts';
import { PLANTS, type Plant } from '../simulation/wear/plants.ts';
import { runTrial } from '../simulation/wear/trial.ts';

const { config } = loadConfig(demoTankYaml('http://127.0.0.1:8123'), 'demo-tank.yaml');
const { tank } = config;
const partOf = (kind: string): Part => {
  const part = tank.parts.find((one) => one.kind === kind);
  assert.ok(part !== undefined, kind);
  return part;
};
const planted = (name: RegExp): Plant => {
  const plant = PLANTS.find((one) => name.test(one.name));
  assert.ok(plant !== undefined, String(name));
  return plant;
};
const standing = (part: Part, life: PartLife, now: number, findings = {}) =>
  standingOf({
    part,
    life,
    usages: lifeUsage(part, life, now, { counters: new Map(), slices: () => [] }),
    ...{ dailyUse: {}, now, settings: config.reminders, timeZone: DEMO_ZONE, ...findings },
  });
const lifeFrom = (part: Part, fittedAt: number): PartLife => ({ part: part.id, number: 1, fittedAt, fittedBy: 'test' });

// common practice, no source
test('product water that reads 1 ppm means that the filter set is due', () => {
  assert.match(PARTS['di-resin']?.alsoDueWhen ?? '', /product reads 1 mg\/L \(1 ppm\) or above: the filter set is due/);
  assert.ok(PARTS['di-resin']?.marks.includes(COMMON_PRACTICE));
  assert.equal(ruleSetting({}, 'K25', 'productMgL'), 1);
  const resin = partOf('di-resin');
  const { said } = runTrial(4, planted(/^resin breaks through/));
  const told = said.find((one) => one.kind === 'resin-breakthrough' && one.sure !== 'suspected');
  assert.ok(told !== undefined);
  assert.ok(told.parts.includes(resin.id));
  const found = said.filter((one) => one.kind === 'resin-breakthrough' && one.value < 2);
  assert.ok(found.length > 0, 'it is said while the product reads 1');
  const young = standing(resin, lifeFrom(resin, told.heardAt - 30 * DAY_MS), told.heardAt, { findings: [told] });
  assert.equal(young.word, 'due');
});

// common practice, no source
test('a renewed RO/DI unit runs an hour to flush before its water is used', () => {
  assert.equal(ruleSetting({}, 'K25', 'flushMs'), 60 * MINUTE_MS);
  assert.ok(RULES.K25.marks.some((mark) => mark === COMMON_PRACTICE));
  assert.match(PARTS['ro-membrane']?.action ?? '', /flush 60 min to waste/);
  const { steps } = buildPlan('rodi-service', tank);
  const at = (id: string) => steps.findIndex((step) => step.id.endsWith(id));
  const flush = steps[at('flush')];
  assert.equal(flush?.waitMs, 60 * MINUTE_MS);
  assert.ok(at('flush') < at('product-tds') && at('product-tds') < at('store-line'));
});

// common practice, no source
test('new salt water is used at a specific gravity of 1.025 to 1.026, read at 25 °C', () => {
  const { low, high, readAtC } = NEW_SALT_WATER.gravity;
  assert.deepEqual([low, high, readAtC, NEW_SALT_WATER.marks[0]], [1.025, 1.026, 25, COMMON_PRACTICE]);
  for (const convention of MARKED_CONVENTIONS) {
    const [thin, strong] = [salinityOfGravity(low, convention), salinityOfGravity(high, convention)];
    assert.ok(thin > 32 && strong < 38 && strong > thin, `${convention}: ${thin} to ${strong} ppt`);
    assert.ok(
      Math.abs(gravityOf(thin, convention) - low) < 1e-9 && Math.abs(gravityOf(strong, convention) - high) < 1e-9,
    );
  }
  assert.deepEqual([RULE_OF_THUMB.salinityPpt, RULE_OF_THUMB.gravity], [35, 1.0264]);
  // The demonstration tank's 35 ppt on an instrument marked to the thousandth.
  assert.equal(Number(gravityOf(35, '25/25').toFixed(3)), high);
});

// common practice, no source
test('a lamp set and the top-off float sensors are renewed after about a year of use', () => {
  for (const kind of ['fluorescent-tubes', 'top-off-floats']) {
    const days = PARTS[kind]?.limits.find((limit) => limit.measure === 'days')?.amount;
    assert.equal(days, 365);
    const part = partOf(kind);
    assert.ok(part.fittedAt !== undefined);
    const { fittedAt } = part;
    const word = (day: number) => standing(part, lifeFrom(part, fittedAt), fittedAt + day * DAY_MS).word;
    assert.equal(word(366), 'due');
    assert.notEqual(word(300), 'due');
  }
});

// common practice, no source
test('growth on the float sensors lowers the water line that they hold, and is seen', () => {
  const floats = partOf('top-off-floats');
  const { first } = runTrial(11, planted(/^growth on the floats/));
  assert.ok(first !== null && first.kind === 'float-growth' && first.parts.includes(floats.id));
  assert.match(first.evidence, /\d/);
  assert.match(PARTS['top-off-floats']?.earlySign ?? '', /longer runs/);
});

// common practice, no source
test('a change of 10 gallons is an ordinary batch', () => {
  const parsed = parseQuantity('volume', '10 gal');
  assert.ok(parsed.ok);
  assert.equal(Number(parsed.value.toFixed(2)), NEW_SALT_WATER.ordinaryBatchL);
  const { steps } = buildPlan('water-change', tank);
  const out = steps.find((step) => step.id.endsWith('litres-out'))?.reading;
  assert.ok(out !== undefined, 'the litres taken out are asked for');
  const { low = 0, high = 0 } = out as { low?: number; high?: number };
  assert.ok(parsed.value >= low && parsed.value <= high, `${parsed.value} L between ${low} and ${high}`);
});
