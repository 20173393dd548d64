import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import { createGate } from '../../../../src/io/hub/gate.ts';
import type { SwitchCommand } from '../../../../src/procedure/index.ts';

/** A gate on a link that keeps what goes out. */
function gate() {
  const called: { readonly service: string; readonly target: unknown }[] = [];
  const link = {
    call: async (message: { readonly service: string; readonly target: unknown }) => {
      called.push({ service: message.service, target: message.target });
    },
  };
  const entities = {
    observe: [],
    readings: [],
    commandable: ['switch.top_off', 'switch.lamp'],
    lamps: ['switch.lamp'],
    drivers: ['automation.lamp'],
  };
  const states = new Map(['switch.top_off', 'switch.lamp'].map((entity) => [entity, { state: 'on' }]));
  const made = createGate(
    { link: link as never, entities, names: { toHub: (entity: string) => entity } as never },
    () => true,
    () => states as never,
  );
  return { made, called };
}

const command = (turn: 'on' | 'off', guard?: string): SwitchCommand => ({
  ...{ session: 'x', step: 'y', equipment: 'top-off', entity: 'switch.top_off', turn },
  ...(guard === undefined ? {} : { guard }),
});

describe('the one gate', () => {
  test('lets a guard say off', async () => {
    const { made, called } = gate();
    assert.equal((await made.command(command('off', 'leak'))).outcome, 'confirmed');
    assert.deepEqual(called, [{ service: 'turn_off', target: { entity_id: 'switch.top_off' } }]);
  });

  test('refuses "on" from a guard, and nothing goes out', async () => {
    const { made, called } = gate();
    assert.deepEqual(await made.command(command('on', 'leak')), {
      outcome: 'invalid',
      detail: 'not sent: the guard leak may only switch off',
    });
    assert.deepEqual(called, []);
  });

  test('a session may still say on', async () => {
    const { made, called } = gate();
    assert.equal((await made.command(command('on'))).outcome, 'confirmed');
    assert.equal(called.length, 1);
  });

  test('a light programme switches lamps, and nothing else', async () => {
    const { made, called } = gate();
    const light = { ...command('on'), programme: true } as const;
    assert.deepEqual(await made.command(light), {
      outcome: 'invalid',
      detail: 'not sent: a light programme switches lamps alone, switch.top_off is none',
    });
    assert.deepEqual(called, []);
    assert.equal((await made.command({ ...light, entity: 'switch.lamp' })).outcome, 'confirmed');
    assert.equal(called.length, 1);
  });

  test('whatever a guard is called, its "on" goes nowhere', async () => {
    await fc.assert(
      fc.asyncProperty(fc.string(), async (name) => {
        const { made, called } = gate();
        await made.command(command('on', name));
        assert.deepEqual(called, []);
      }),
      { numRuns: 100 },
    );
  });
});
