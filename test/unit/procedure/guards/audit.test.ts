import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Equipment, Tank } from '../../../../src/model/index.ts';
import { auditOf } from '../../../../src/procedure/guards/index.ts';
import { TANK } from './bench.ts';

const tankWith = (changes: Readonly<Record<string, Partial<Equipment>>>): Tank => ({
  ...TANK,
  equipment: TANK.equipment.map((one) => ({ ...one, ...changes[one.id] })),
});

const words = (tank: Tank) => Object.fromEntries(auditOf(tank).startUp.map(({ equipment, word }) => [equipment, word]));

// Common practice, no source: life support on by itself, whatever adds water or heats a barrel off.
test('each plug is held against what its role needs', () => {
  const found = words(
    tankWith({
      return: { startUp: 'off' },
      circulation: { startUp: 'on' },
      heater: { startUp: 'as-before' },
      'top-off': { startUp: 'as-before' },
      doser: { startUp: 'off' },
      'barrel-heater': { startUp: 'on' },
      skimmer: { startUp: 'on' },
    }),
  );
  assert.deepEqual(found, {
    return: 'mismatch',
    circulation: 'fine',
    heater: 'note',
    'top-off': 'mismatch',
    doser: 'fine',
    'barrel-heater': 'mismatch',
    skimmer: 'note',
    ro: 'unknown',
    mixing: 'unknown',
  });
});

test('what must be changed comes first, and says what else could happen', () => {
  const [first] = auditOf(tankWith({ 'top-off': { startUp: 'on' } })).startUp;
  assert.equal(first?.equipment, 'top-off');
  assert.match(first?.text ?? '', /may start by itself after a power cut; a top-off pump is to stay off/);
});

test('equipment without a switch of its own has no start-up setting', () => {
  const { switchEntity: _, ...bare } = TANK.equipment[0] as Equipment;
  assert.deepEqual(auditOf({ ...TANK, equipment: [bare] }).startUp, []);
});

test('a pair on one strip or circuit is named; one nobody told of is asked for', () => {
  const pairs = (changes: Readonly<Record<string, Partial<Equipment>>>) => auditOf(tankWith(changes)).pairs;
  const both = (more: Partial<Equipment>, other: Partial<Equipment>) =>
    pairs({ return: { pair: 'movers', ...more }, circulation: { pair: 'movers', ...other } });
  assert.match(
    both({ strip: 'left' }, { strip: 'left' })[0]?.text ?? '',
    /hang on one strip, left: what trips it stops both/,
  );
  assert.match(both({ strip: 'a', circuit: 'C4' }, { strip: 'b', circuit: 'C4' })[0]?.text ?? '', /one circuit, C4/);
  assert.deepEqual(both({ strip: 'a', circuit: 'C4' }, { strip: 'b', circuit: 'C5' }), []);
  assert.match(both({}, { strip: 'b' })[0]?.text ?? '', /on which strip and circuit is not told/);
  assert.deepEqual(pairs({ return: { pair: 'alone' } }), []);
});
