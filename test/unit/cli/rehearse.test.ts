import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { describe, test } from 'node:test';
import type { Rehearsal, SessionPlan } from '../../../src/procedure/index.ts';
import { PROCEDURES } from '../../../src/rules/index.ts';
import { DEMO as demo, GOLDEN, goldenPath, SPARSE as sparse } from './golden.ts';
import { runMain } from './run-cli.ts';

const said = (title: string, text: string): string => text.split(`\n${title}\n`)[1]?.split('\n\n')[0] ?? '';

describe('rehearse', () => {
  // write-golden.ts writes these texts anew; read them before they are committed.
  for (const { name, args } of GOLDEN) {
    test(`${name} reads as it was read over`, async () => {
      const ran = await runMain(args);
      assert.equal(ran.code, 0, ran.err);
      assert.equal(ran.out, readFileSync(goldenPath(name), 'utf8'));
    });
  }

  test('cautions come first, local code before all', async () => {
    const ran = await runMain(['rehearse', 'Water change', '-c', demo]);
    assert.match(ran.out, /^Water change\n\nCautions\n {2}! Your local electrical code/);
  });

  test('on a tank with next to nothing to see by, a person looks and nothing is assumed', async () => {
    const ran = await runMain(['--json', 'rehearse', 'annual-overhaul', '-c', sparse]);
    const plan = JSON.parse(ran.out) as SessionPlan & { readonly rehearsal: Rehearsal };
    for (const id of [
      'look:head-room',
      'look:mover',
      'settle:rise',
      'steady:skimmer',
      'mark:top-off',
      'look:low-float',
    ])
      assert.equal(plan.steps.find((step) => step.id === id)?.holdPoint, true, id);
    assert.equal(plan.steps.find((step) => step.id === 'off:heater')?.needed, 2);
    assert.equal(plan.steps.find((step) => step.id === 'off:skimmer')?.needed, 5);
    assert.equal(plan.rehearsal.highestCm, null);
    assert.ok(plan.rehearsal.steps.every((step) => step.levelCm === null));
    assert.match(plan.notes.join(' '), /Drain-down unlearned/);
  });

  test('as JSON it is the plan, with the rehearsal beside it', async () => {
    const ran = await runMain(['--json', 'rehearse', 'pump-pause', '-c', demo]);
    const plan = JSON.parse(ran.out) as SessionPlan & { readonly rehearsal: Rehearsal };
    assert.equal(plan.rehearsal.steps.length, plan.steps.length);
    assert.deepEqual(
      plan.rehearsal.steps.map((step) => step.id),
      plan.steps.map((step) => step.id),
    );
    // 19.5 L over 2.58 L/cm lift the sump from 20 cm by 7.6 cm: read off the demonstration tank.
    assert.ok(Math.abs((plan.rehearsal.highestCm ?? 0) - 27.5) <= 0.1);
  });

  test('takes what is told of the tank', async () => {
    const lowest = async (...more: string[]): Promise<number> => {
      const ran = await runMain(['--json', 'rehearse', 'water-change', '-c', demo, ...more]);
      return (JSON.parse(ran.out) as { rehearsal: Rehearsal }).rehearsal.lowestC ?? Number.NaN;
    };
    const cold = await lowest('--room', '15 °C');
    const warm = await lowest('--room', '25 °C');
    assert.ok(cold < warm && warm <= 25.5);
    // 45 L of 458 L at 20.5 °C instead of 25.5 °C take about half a degree.
    const mixed = (await lowest('--batch', '25.5 °C')) - (await lowest('--batch', '20.5 °C', '--change', '45 L'));
    assert.ok(mixed > 0.35 && mixed < 0.65, `${mixed}`);
  });

  test('a long stop that does not fit the light is refused with the latest begin', async () => {
    const ran = await runMain(['rehearse', 'annual overhaul', '-c', demo, '--at', '15:00', '--lights', '07:00-21:30']);
    assert.equal(ran.code, 1);
    assert.match(ran.err, /^SW-SES-003 .*rule K33/);
    assert.match(ran.err, /Begin by 1[01]:\d\d/);
  });

  test('every procedure can be rehearsed on the demonstration tank, by id and by title', async () => {
    for (const { id, title } of Object.values(PROCEDURES)) {
      const choice = id === 'heater-swap' ? ':heater-1' : '';
      const byId = await runMain(['rehearse', `${id}${choice}`, '-c', demo]);
      assert.equal(byId.code, 0, `${id}: ${byId.err}`);
      assert.match(said('Why each step is there', byId.out), /K20, step/);
      const byTitle = await runMain(['rehearse', `${title.toUpperCase()}${choice}`, '-c', demo]);
      assert.equal(byTitle.out, byId.out);
    }
  });

  for (const [option, found, expected] of [
    ['--at', '25:00', 'a time such as 10:30'],
    ['--lights', '9 to 21', 'hours such as 09:30-21:30'],
    ['--room', '19', 'a temperature such as 19 °C'],
    ['--change', '45', 'a volume such as 45 L'],
  ] as const) {
    test(`${option} ${found} is refused in words`, async () => {
      const ran = await runMain(['rehearse', 'water-change', '-c', demo, option, found]);
      assert.equal(ran.code, 1);
      assert.match(ran.err, /^SW-CLI-007 /);
      assert.ok(ran.err.includes(expected), ran.err);
    });
  }
});
