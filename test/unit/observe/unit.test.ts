import assert from 'node:assert/strict';
import { test } from 'node:test';
import { sameUnit, unitText } from '../../../src/observe/index.ts';

// The micro sign U+00B5 and the Greek mu U+03BC look alike; the hub changed from one to the other in 2025.
test('both micro signs are the same unit', () => {
  assert.equal(unitText('\u00b5S/cm'), '\u03bcS/cm');
  assert.ok(sameUnit('\u00b5S/cm', '\u03bcS/cm'));
  assert.ok(sameUnit(' L', 'l'));
});

test('units that differ by a factor differ', () => {
  for (const [a, b] of [
    ['L', 'mL'],
    ['L', 'gal'],
    ['W', 'kW'],
    ['Wh', 'kWh'],
    ['\u00b5g', 'mg'],
  ] as const)
    assert.equal(sameUnit(a, b), false, `${a} ${b}`);
});
