// On a real hub: a step that asks for a value is answered from the hub's own page. What was typed counts for the question
// it was typed under and with the person who confirms; what does not count is said, and the field is empty for the next.
import assert from 'node:assert/strict';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, describe, test } from 'node:test';
import { callService, closeChromium, eventually, getStates, photograph } from '../support/index.ts';
import { runProcess } from '../unit/cli/run-cli.ts';
import { type RealHome, readForTwoSeconds, startRealHome } from './real-home.ts';

const FIELD = 'input_text.slackwater_value';
const AWAITED = 'binary_sensor.slackwater_value_awaited';
const STEP = 'reading:hours-dark';

describe('a typed value on a real hub', () => {
  let home: RealHome;
  let folder = '';

  before(async () => {
    folder = await mkdtemp(join(tmpdir(), 'slackwater-typed-'));
    home = await startRealHome();
    await home.pressAs('robin', 'start_power_cut_restart');
    await home.confirmAs('robin', '#begin');
    await home.confirmAs('robin', 'look:dark-plugs');
    await home.asked(STEP);
  });
  after(async () => {
    await closeChromium();
    await home?.dispose();
    await rm(folder, { recursive: true, force: true });
  });

  const fieldIs = async (text: string): Promise<void> => {
    const owner = await home.owner();
    await eventually(`"${text}" in the field`, async () => (await getStates(owner)).get(FIELD)?.state === text);
  };
  const typeAs = async (who: 'robin' | 'sam', value: string): Promise<void> => {
    await callService(await home[who].connect(), 'input_text.set_value', FIELD, { value });
    await fieldIs(value);
  };
  const nonce = async (): Promise<unknown> => (await home.session()).attributes['nonce'];

  test('the hub shows that a value is awaited, in which unit and between which', async () => {
    const states = await getStates(await home.owner());
    const { state, attributes } = states.get(AWAITED) ?? {};
    assert.equal(state, 'on');
    assert.deepEqual([attributes?.['unit'], attributes?.['low'], attributes?.['high']], ['h', 0, 240]);
  });

  test('confirmed without a value it is asked for in words', async () => {
    await readForTwoSeconds();
    await home.pressAs('robin', 'confirm');
    await home.notice(/This step asks for a value: age in h/);
    await home.asked(STEP);
  });

  test('no number, and the value of another person, are refused in words', async () => {
    await typeAs('robin', 'a while');
    await readForTwoSeconds();
    await home.pressAs('robin', 'confirm');
    await home.notice(/"a while" in the field for a value is not taken: it is no number of h/);
    await typeAs('sam', '3,5');
    await home.pressAs('robin', 'confirm');
    await home.notice(/"3,5" in the field for a value is not taken: somebody else typed it/);
    await fieldIs('');
    await home.asked(STEP);
  });

  test('a value outside the limits is said, asked again under a new question, and the field is empty', async () => {
    const before = await nonce();
    await typeAs('robin', '900');
    await readForTwoSeconds();
    await home.pressAs('robin', 'confirm');
    const again = await eventually('a new question', async () => {
      const session = await home.session();
      const now = session.attributes['nonce'];
      return now !== before && typeof now === 'string' ? session : undefined;
    });
    assert.match(String(again.attributes['prompt']), /900 h is not taken: it is above the 240 h/);
    await fieldIs('');
  });

  test('typed on the page and confirmed there by the person logged in, it is taken and on record', async () => {
    const installed = await runProcess(['dashboard', 'install', '--config', home.configFile]);
    const [, url = ''] = /^Installed: (\S+)$/m.exec(installed.out) ?? [];
    type Field = { fill(text: string): Promise<void>; press(key: string): Promise<void> };
    type Page = { locator(selector: string): Field & { click(): Promise<void> } };
    const picture = await photograph({
      url: new URL(url).pathname,
      hub: { url: home.hub.url, token: home.robin.token },
      file: join(process.env['SLACKWATER_KEEP'] === undefined ? folder : tmpdir(), 'value.png'),
      ...{ width: 420, height: 1400 },
      waitForText: ['Asked of you now', 'Value', 'Confirm'],
      act: async (page: Page) => {
        const field = page.locator('hui-input-text-entity-row input');
        await field.fill('3,5');
        await field.press('Tab');
        await fieldIs('3,5');
      },
    });
    assert.match(picture.text, /For how many hours was the power off\?/);
    await readForTwoSeconds();
    await home.pressAs('robin', 'confirm');
    const step = await eventually('the step to close', () =>
      home
        .service()
        .app.session()
        ?.steps.find(({ id, result }) => id === STEP && result.startsWith('passed')),
    );
    assert.equal(step.evidenceText, '3.5 h, typed by Robin');
    await fieldIs('');
    const owner = await home.owner();
    await eventually('no value to be awaited', async () => (await getStates(owner)).get(AWAITED)?.state === 'off');
  });
});
