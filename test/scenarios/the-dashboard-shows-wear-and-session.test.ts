// The dashboard, installed by command into a real hub and photographed in a browser: counters with figures and units, what
// is due, and during a session its plan, instructions and buttons, wide and on a phone. SLACKWATER_PICTURES=1 renews the
// pictures of the documentation.
import assert from 'node:assert/strict';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, describe, test } from 'node:test';
import { fileURLToPath } from 'node:url';
import { callService, closeChromium, type Photograph, photograph, press, waitForState } from '../support/index.ts';
import { runProcess } from '../unit/cli/run-cli.ts';
import { type RealHome, readForTwoSeconds, startRealHome } from './real-home.ts';

const PICTURES = fileURLToPath(new URL('../../docs/pictures/', import.meta.url));
const DOCUMENTED = ['dashboard', 'dashboard-phone', 'dashboard-session'];
const renews = process.env['SLACKWATER_PICTURES'] === '1';
const WIDE = { width: 1200, height: 1500 };
const PHONE = { width: 420, height: 1800 };

describe('the dashboard in a real hub', () => {
  let home: RealHome;
  let folder = '';
  let path = '';

  before(async () => {
    folder = await mkdtemp(join(tmpdir(), 'slackwater-photo-'));
    home = await startRealHome({ tubesUsed: '12,959,999 s', worn: true });
    const owner = await home.owner();
    await callService(owner, 'switch.turn_on', 'switch.lamp_bank');
    await readForTwoSeconds();
    await callService(owner, 'switch.turn_off', 'switch.lamp_bank');
    await waitForState(owner, 'sensor.slackwater_lamp_tubes_standing', 'due');
  });
  after(async () => {
    await closeChromium();
    await home?.dispose();
    await rm(folder, { recursive: true, force: true });
  });

  /** As Robin sees it, who is no administrator. */
  const photo = (name: string, size: typeof WIDE, waitForText: readonly string[], more = {}): Promise<Photograph> =>
    photograph({
      url: path,
      hub: { url: home.hub.url, token: home.robin.token },
      file: join(renews && DOCUMENTED.includes(name) ? PICTURES : folder, `${name}.png`),
      ...size,
      waitForText,
      ...more,
    });

  const readable = ({ text, errors }: Photograph, ...wanted: readonly (string | RegExp)[]): void => {
    for (const each of wanted) {
      if (typeof each === 'string') assert.ok(text.split('\n').includes(each), `"${each}" is readable in:\n${text}`);
      else assert.match(text, each);
    }
    assert.doesNotMatch(text, /unavailable|undefined|NaN|\[object|\[\[|Entity not|Configuration error|TemplateError/i);
    assert.deepEqual(errors, []);
  };

  test('is installed by command, and again without harm', async () => {
    const install = ['dashboard', 'install', '--config', home.configFile];
    const first = await runProcess(install);
    assert.deepEqual([first.code, first.err], [0, '']);
    const [, url = ''] = /^Installed: (\S+)$/m.exec(first.out) ?? [];
    assert.ok(url.startsWith(home.hub.url), first.out);
    path = new URL(url).pathname;
    const again = await runProcess([...install, '--json']);
    assert.equal(again.code, 0);
    assert.deepEqual(JSON.parse(again.out), { path, url });
  });

  test('shows what is due and every counter with its figure and unit', async () => {
    const wide = await photo('dashboard', WIDE, ['Stairwell reef', 'What is due', 'Due: Lamp tubes']);
    readable(
      wide,
      'What is due',
      'Due: Lamp tubes',
      /3,600 h of 3,600 h lit/,
      'Done',
      'Later',
      'Short pump pause',
      'Skimmer service',
      'When something is wrong',
      'Lamp tubes',
      /^Hours lit of 3,600 h\n3,600 h$/m,
      'Lamp relay',
      // The lamp's first start may fall into the seconds in which a hub that wakes up is not believed.
      /^Starts of 50,000\n1,72[23] starts(?: \(1,722 to 1,723\))?$/m,
      'Relay of return pump A',
      'Skimmer cup',
      /^Age of 5 d\n2\.\d+ d$/m,
      /^Hours run, no limit\n2,671 h$/m,
    );
  });

  test('on a phone the same is readable without scrolling sideways', async () => {
    let overflowPx = -1;
    const phone = await photo('dashboard-phone', PHONE, ['What is due', 'Due: Lamp tubes', 'Lamp relay'], {
      act: async (page: { evaluate(script: string): Promise<unknown> }) => {
        overflowPx = Number(await page.evaluate('document.documentElement.scrollWidth - window.innerWidth'));
      },
    });
    readable(phone, 'Due: Lamp tubes', 'Done', 'Short pump pause', /^Hours lit of 3,600 h\n3,600 h$/m);
    assert.ok(overflowPx <= 0, `${overflowPx} px too wide`);
  });

  test('with a plan shown it asks for the second confirmation, with plan, order and cautions', async () => {
    await home.pressAs('robin', 'start_skimmer_service');
    await home.asked('#begin');
    const page = await photo('dashboard-plan', WIDE, [
      'Service session',
      'Asked of you now',
      'Confirm',
      'Switch Skimmer off',
    ]);
    readable(
      page,
      /Skimmer service: read the plan\. Out of service, in this order: Top-off, Skimmer\. Confirm at the tank to begin\./,
      'Confirm',
      'Abort',
      /A plug that is off is not isolation/,
      /Switch Skimmer off\. \(K34\)/,
    );
    assert.doesNotMatch(page.text, /^Start$|Due now, start/m);
  });

  test('a press of Confirm on the page by the person logged in begins it', async () => {
    await readForTwoSeconds();
    await photo('pressed', WIDE, ['Confirm'], {
      act: (page: { locator(selector: string): { click(): Promise<void> } }) =>
        page.locator('hui-tile-card:has-text("Confirm") [role=button]').click(),
    });
    await home.asked('unplug:skimmer');
  });

  test('during a session instructions, evidence and buttons are readable, wide and on a phone', async () => {
    const waitFor = ['Asked of you now', 'Confirm', 'fresh watts agree'];
    for (const [name, size] of [
      ['dashboard-session', WIDE],
      ['dashboard-session-phone', PHONE],
    ] as const) {
      const page = await photo(name, size, waitFor);
      readable(
        page,
        /Skimmer is proved off \(relay off, .* It may be unplugged: pull its plug, keep it in sight, then confirm\./,
        'Confirm',
        'Abort',
        'Out of service',
        /Top-off, Skimmer/,
        /fresh watts agree/,
        /passed, not proven/,
      );
      assert.doesNotMatch(page.text, /^Held$/m);
    }
  });

  test('with the service stopped the page warns that what it shows may be old', async () => {
    await home.stopService();
    const page = await photo('stopped', WIDE, ['Service session', 'No word from the service']);
    readable(page, /A session shown here may be old\. What is off may not stay off: unplug what you handle\./);
  });

  test('held for trouble it says so once, and Confirm is there for whoever has looked', async () => {
    await home.startService();
    await home.asked('#resume');
    const page = await photo('held', WIDE, ['The service was restarted', 'Confirm']);
    readable(page, 'Held', 'Confirm', 'Abort', 'Out of service');
    assert.equal(page.text.match(/The service was restarted\. Look at the tank, then resume/g)?.length, 1);
    assert.doesNotMatch(page.text, /No word from the service/);
  });

  test('aborted with something off, the page keeps saying so', async () => {
    await press(await home.robin.connect(), 'input_button.slackwater_abort');
    await home.sessionIs('aborted');
    const page = await photo('dashboard-aborted', WIDE, ['Out of service', 'Bring these back', 'What is due']);
    readable(page, /Top-off, Skimmer/, /Bring these back by hand, in restore order\./);
    assert.ok(page.text.indexOf('Out of service') < page.text.indexOf('What is due'), 'and says so first');
  });
});
