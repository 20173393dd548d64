// On a real hub: "unplugged" is a person's word and makes a claim. The claim stands while the service is down and after it
// is back; then nothing is commanded before a person resumes, only the claimant or the deputy gives it back, and what is
// claimed is guarded against every other hand.
import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { after, before, describe, test } from 'node:test';
import { apiClient } from '../../src/web/index.ts';
import { callService, setPlugWatts, waitForState } from '../support/index.ts';
import { type RealHome, readForTwoSeconds, startRealHome } from './real-home.ts';
import { PLUGS, WATTS } from './real-tank.ts';

const SWITCHES = PLUGS.map((id) => `switch.${id}`);
const FLAG = 'binary_sensor.slackwater_service_in_progress';

describe('a skimmer service on a real hub', () => {
  let home: RealHome;

  before(async () => {
    home = await startRealHome();
  });
  after(() => home?.dispose());

  const switchedSince = async (fromMs: number): Promise<readonly string[]> =>
    (await home.changesSince(SWITCHES, fromMs)).map(({ entity, state }) => `${entity} ${state}`);
  const claims = () => home.service().app.session()?.claims ?? [];
  test('proved off, it may be unplugged', async () => {
    const beganAt = Date.now();
    await home.pressAs('robin', 'start_skimmer_service');
    await home.confirmAs('robin', '#begin');
    const asked = await home.asked('unplug:skimmer');
    assert.match(String(asked.attributes['prompt']), /^Skimmer is proved off \(relay off, .*It may be unplugged: /);
    assert.deepEqual(await switchedSince(beganAt), ['switch.top_off off', 'switch.skimmer off']);
  });

  test('neither a press nobody stands behind nor a machine’s credential says "unplugged"', async () => {
    await home.asked('unplug:skimmer');
    await readForTwoSeconds();
    await home.pressAs('nobody', 'confirm');
    await home.notice(/carries no person, and "Unplug Skimmer and say so/);
    assert.deepEqual(claims(), []);

    const view = home.service().app.session();
    assert.ok(view?.prompt);
    const token = (await readFile(join(home.folder, 'secrets', 'flows'), 'utf8')).trim();
    const flows = apiClient(home.service().api.url, token);
    const answer = { session: view.id, step: view.prompt.step, nonce: view.prompt.nonce };
    const { accepted, why } = await flows.confirm(answer);
    assert.equal(accepted, false);
    assert.match(why, /carries no person/);
    assert.deepEqual(claims(), []);
    assert.equal((await home.session()).attributes['step'], 'unplug:skimmer');
  });

  test('a person’s "unplugged" makes a claim that the hub shows', async () => {
    // The cord is out: whatever the relay does, nothing is drawn.
    await setPlugWatts(await home.owner(), 'skimmer', 0);
    await home.confirmAs('robin', 'unplug:skimmer');
    const asked = await home.asked('hands-on:lift');
    assert.deepEqual(asked.attributes['claims'], [{ equipment: 'Skimmer', person: 'Robin' }]);
    await waitForState(await home.owner(), FLAG, 'on');
  });

  test('the claim survives a stop and start of the service; nothing is commanded before a person resumes', async () => {
    const stoppedAt = Date.now();
    await home.stopService();
    await home.startService();
    const asked = await home.asked('#resume');
    assert.equal(asked.state, 'held');
    assert.equal(asked.attributes['hold_reason'], 'service-restarted');
    assert.deepEqual(asked.attributes['claims'], [{ equipment: 'Skimmer', person: 'Robin' }]);
    await waitForState(await home.owner(), FLAG, 'on');
    await readForTwoSeconds();
    await home.pressAs('nobody', 'confirm');
    await home.notice(/resuming needs one/);
    assert.equal((await home.session()).state, 'held');
    assert.deepEqual(await switchedSince(stoppedAt), []);
  });

  test('a hand that switches the claimed skimmer on is alarmed and stops the session; we switch nothing', async () => {
    await home.confirmAs('robin', '#resume');
    await home.asked('hands-on:lift');
    const fromMs = Date.now();
    await callService(await home.owner(), 'switch.turn_on', 'switch.skimmer');
    await home.notice(/Skimmer was switched on by other hands\. It is claimed by Robin\. Hands out of the water now/);
    const held = await home.asked('#resume');
    assert.equal(held.attributes['hold_reason'], 'foreign-hand');
    await callService(await home.owner(), 'switch.turn_off', 'switch.skimmer');
    await home.confirmAs('robin', '#resume');
    await home.asked('hands-on:lift');
    assert.deepEqual(await switchedSince(fromMs), ['switch.skimmer on', 'switch.skimmer off']);
  });

  test('the plan goes on from where it was; no start before the claim is given back', async () => {
    const fromMs = Date.now();
    for (const step of ['lift', 'clean', 'refit']) await home.confirmAs('robin', `hands-on:${step}`);
    await home.asked('plug-in:skimmer');
    assert.deepEqual(await switchedSince(fromMs), []);
  });

  test('Sam is the deputy of Robin and gives it back; then all comes back in order, proved', async () => {
    const fromMs = Date.now();
    await setPlugWatts(await home.owner(), 'skimmer', WATTS.skimmer);
    await home.confirmAs('sam', 'plug-in:skimmer');
    assert.deepEqual(claims(), []);
    const { attributes } = await home.sessionIs('complete');
    assert.match(String(attributes['summary']), /^Back and proved: Skimmer; reported on, not proven: Top-off\.$/);
    assert.deepEqual(await switchedSince(fromMs), ['switch.skimmer on', 'switch.top_off on']);
    const view = home.service().app.session();
    assert.deepEqual(view?.outOfService, []);
    const on = view?.steps.find(({ id }) => id === 'on:skimmer');
    assert.deepEqual([on?.result, on?.evidence], ['passed', 3]);
    await home.sessionIs('complete');
    await waitForState(await home.owner(), FLAG, 'off');
  });
});
