import assert from 'node:assert/strict';
import { test } from 'node:test';
import { type GuardedHome, guardedHome, YAML } from './guarded-home.ts';

const SECOND = 1_000;
const robin = { kind: 'person', name: 'Robin', via: 'api' } as const;

const RUNNING = {
  ...{ 'switch.return': 1, 'sensor.return_power': 32, 'switch.circulation': 1, 'sensor.circulation_power': 14 },
  ...{ 'switch.skimmer': 1, 'sensor.skimmer_power': 18, 'switch.top_off': 1, 'sensor.top_off_power': 0 },
  ...{ 'binary_sensor.leak': 0, 'switch.other': 1, 'sensor.other_power': 18 },
};
const REWIRED = YAML.replace('switch.skimmer, power: sensor.skimmer_power', 'switch.other, power: sensor.other_power');

async function confirm(h: GuardedHome): Promise<void> {
  await h.wait(3 * SECOND);
  const view = h.app.session();
  assert.ok(view?.prompt !== undefined && view.prompt !== null, view?.hold?.text ?? 'nothing is asked');
  const { id: session, prompt } = view;
  const answer = await h.app.confirm({ session, step: prompt.step, nonce: prompt.nonce, actor: robin });
  assert.equal(answer.accepted, true, answer.why);
}

test('the plug of a claimed skimmer is configured otherwise: the session is held with what differs, and keeps to its own plug', async (t) => {
  const h = await guardedHome();
  t.after(() => h.stop().catch(() => {}));
  await h.tell(RUNNING);
  await h.app.startSession('skimmer-service', robin);
  await confirm(h);
  for (let n = 0; n < 600 && h.app.session()?.prompt?.step !== 'unplug:skimmer'; n++) {
    const off = (equipment: string): boolean =>
      h.commands.some((command) => command.equipment === equipment && command.turn === 'off');
    await h.tell({
      ...RUNNING,
      ...(off('skimmer') ? { 'switch.skimmer': 0, 'sensor.skimmer_power': 0 } : {}),
      ...(off('top-off') ? { 'switch.top_off': 0 } : {}),
    });
    await h.wait(SECOND);
  }
  await confirm(h);
  assert.deepEqual(h.app.session()?.claims, [{ equipment: 'Skimmer', person: 'Robin' }]);
  const lived = h.app.session();

  const again = await h.killed(REWIRED);
  t.after(() => again.stop().catch(() => {}));
  const held = again.app.session();
  assert.equal(held?.status, 'held');
  assert.equal(held?.hold?.reason, 'service-restarted');
  assert.match(held?.hold?.text ?? '', /Skimmer: switch switch\.skimmer, now switch\.other/);
  assert.match(held?.hold?.text ?? '', /power reading sensor\.skimmer_power, now sensor\.other_power/);
  assert.deepEqual(held?.claims, lived?.claims);
  assert.deepEqual(
    held?.steps.map(({ result }) => result),
    lived?.steps.map(({ result }) => result),
  );
  assert.ok(held?.notes.some((note) => note.startsWith('Configuration changed since the start: Skimmer: switch')));

  const back = await again.killed(YAML);
  t.after(() => back.stop().catch(() => {}));
  assert.equal(back.app.session()?.status, 'held');
  assert.doesNotMatch(back.app.session()?.hold?.text ?? '', /configuration/);
  assert.deepEqual(back.app.session()?.claims, lived?.claims);
});
