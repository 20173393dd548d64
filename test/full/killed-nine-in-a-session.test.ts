// The service is killed -9 at ten points of sessions on a real hub, at steps of every kind. Each time the one that is started
// after it sends nothing, waits for a person, and goes on from there once that person says so.
import assert from 'node:assert/strict';
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { readFile } from 'node:fs/promises';
import { after, before, describe, test } from 'node:test';
import { fileURLToPath } from 'node:url';
import { parse } from 'yaml';
import { type RealHome, readForTwoSeconds, startRealHome } from '../scenarios/real-home.ts';
import { THERMOSTAT, WATTS } from '../scenarios/real-tank.ts';
import { eventually, getStates, setFault, setPlugWatts, waitForState } from '../support/index.ts';
import { apiAs, type Call, hearCalls, SWITCHES, table, typeAs } from './session-watch.ts';

const CHILD = fileURLToPath(new URL('./session-child.ts', import.meta.url));

type Point = {
  /** The step at which it is killed. */
  readonly step: string;
  readonly kind: string;
  /** How far the step is when it is killed; as soon as the hub shows it unless said. */
  readonly until?: () => Promise<unknown>;
  /** What was put right by the time of the resume. */
  readonly putRight?: () => Promise<void>;
  /** What this session has out of service by then, as the hub must still show it. */
  readonly out: readonly string[];
  readonly claims?: readonly { readonly equipment: string; readonly person: string }[];
};

describe('the service killed in the middle of sessions', () => {
  let home: RealHome;
  let calls: readonly Call[];
  let child: ChildProcess;
  const printed: string[] = [];
  const rows: (readonly (string | number)[])[] = [
    [
      'killed at',
      'kind',
      'asked after',
      'reason',
      'out of service',
      's to the question',
      'sent before the resume',
      'then',
    ],
  ];

  const startChild = async (): Promise<void> => {
    const from = printed.length;
    child = spawn(process.execPath, [CHILD, home.configFile], { stdio: ['ignore', 'pipe', 'pipe'] });
    for (const stream of [child.stdout, child.stderr])
      stream?.on('data', (data) => printed.push(...String(data).split('\n')));
    await eventually('the service to hear presses', () => printed.indexOf('ready', from) >= 0, {
      limitMs: 120_000,
    }).catch((error: unknown) => {
      throw new Error(printed.slice(-20).join('\n'), { cause: error });
    });
  };
  const kill = async (): Promise<void> => {
    const exited = once(child, 'exit');
    child.kill('SIGKILL');
    await exited;
  };
  const owner = () => home.owner();
  const watts = async (plug: string, value: number): Promise<void> => setPlugWatts(await owner(), plug, value);
  const ours = (from: number, to?: number): readonly Call[] =>
    calls.slice(from, to).filter(({ entity }) => SWITCHES.includes(entity) || entity === THERMOSTAT);

  before(async () => {
    home = await startRealHome({ unstarted: true });
    calls = await hearCalls(home);
    await startChild();
  });
  after(async () => {
    child?.kill('SIGKILL');
    await home?.dispose();
  });

  /** Waits for the step, kills, starts anew, and gives the person's word. */
  async function killAt(point: Point): Promise<void> {
    const { step } = point;
    const isIdle = step === '#begin';
    const shown = await home.atStep(step);
    await point.until?.();
    await kill();
    // What was on its way to the hub when it died has arrived once the hub answers after it.
    await getStates(await owner());
    const from = calls.length;
    const startedAt = performance.now();
    await startChild();
    const question = isIdle ? '#begin' : '#resume';
    const asked = await eventually(`a question of the new process after ${step}`, async () => {
      const now = await home.asked(question);
      return now.attributes['nonce'] === shown.attributes['nonce'] ? undefined : now;
    }).catch((error: unknown) => {
      throw new Error(printed.slice(-20).join('\n'), { cause: error });
    });
    const seconds = ((performance.now() - startedAt) / 1000).toFixed(1);
    const reason = isIdle ? '-' : String(asked.attributes['hold_reason']);
    if (!isIdle) {
      assert.equal(asked.state, 'held');
      assert.equal(reason, 'service-restarted');
      assert.match(String(asked.attributes['prompt']), /^The service was restarted\. Look at the tank, then resume/);
    }
    assert.deepEqual(asked.attributes['out_of_service'], point.out, `${step}: what is off is still known`);
    assert.deepEqual(asked.attributes['claims'], point.claims ?? [], `${step}: claims stand`);
    await readForTwoSeconds();
    // A press that no person stands behind moves nothing either.
    await home.pressAs('nobody', 'confirm');
    await home.notice(isIdle ? /beginning the session needs one/ : /resuming needs one/);
    const sent = ours(from);
    assert.deepEqual(sent, [], `${step}: nothing is sent before a person’s word`);
    await point.putRight?.();
    await home.confirmAs('robin', question);
    const index = rows.push([
      ...[step, point.kind, question, reason, point.out.join(', ') || 'nothing', seconds, sent.length],
      'nothing more to send',
    ]);
    // Told at the end: what the first command after the word was.
    firsts.push({ row: index - 1, from, session: String(asked.attributes['session']) });
  }
  const firsts: { readonly row: number; readonly from: number; readonly session: string }[] = [];
  /** How many calls there had been when each session was over. */
  const over = new Map<string, number>();
  const isOver = async (as: string): Promise<string> => {
    const { attributes } = await home.sessionIs(as);
    over.set(String(attributes['session']), calls.length);
    return String(attributes['summary']);
  };

  test('a plan nobody has confirmed yet; a value that is awaited', async () => {
    await home.pressAs('robin', 'start_water_change');
    await killAt({ step: '#begin', kind: 'plan shown', out: [] });
    await home.asked('reading:batch-age');
    await killAt({ step: 'reading:batch-age', kind: 'reading', out: [] });
    const { api } = parse(await readFile(home.configFile, 'utf8')) as { readonly api: { readonly port: number } };
    const robin = await apiAs(home, 'robin', `http://127.0.0.1:${api.port}`);
    assert.equal(await typeAs(home, robin, 'reading:batch-age', 24), '');
    await home.asked('reading:tank-salinity');
    await home.pressAs('robin', 'abort');
    await isOver('aborted');
    assert.deepEqual(ours(0), []);
  });

  test('a switch-off, a plug that may be pulled, a claim, its release, a level coming to rest, a switch-on', async () => {
    const claims = [{ equipment: 'Skimmer', person: 'Robin' }];
    const fault = async (name: 'watts-frozen' | 'none'): Promise<void> => setFault(await owner(), 'skimmer', name);
    await fault('watts-frozen');
    await home.pressAs('robin', 'start_skimmer_service');
    await home.confirmAs('robin', '#begin');
    const both = ['Top-off', 'Skimmer'];
    await killAt({ step: 'off:skimmer', kind: 'switch-off', out: both, putRight: () => fault('none') });
    await home.asked('unplug:skimmer');
    await killAt({ step: 'unplug:skimmer', kind: 'unplug', out: both });
    await home.asked('unplug:skimmer');
    await watts('skimmer', 0);
    await home.confirmAs('robin', 'unplug:skimmer');
    await killAt({ step: 'hands-on:lift', kind: 'hands-on, claimed', out: both, claims });
    for (const step of ['lift', 'clean', 'refit']) await home.confirmAs('robin', `hands-on:${step}`);
    await killAt({ step: 'plug-in:skimmer', kind: 'plug-in, claimed', out: both, claims });
    // Too little to prove it back, until its valve is opened.
    await watts('skimmer', 6);
    await home.confirmAs('robin', 'plug-in:skimmer');
    await killAt({ step: 'steady:skimmer', kind: 'settle', out: both });
    await killAt({
      ...{ step: 'on:skimmer', kind: 'switch-on, sent', out: both },
      until: async () => waitForState(await owner(), 'switch.skimmer', 'on'),
      putRight: () => watts('skimmer', WATTS.skimmer),
    });
    assert.match(await isOver('complete'), /^Back and proved: Skimmer; /);
    const told = ours(0).map(({ entity, turn }) => `${entity} ${turn}`);
    assert.deepEqual(told, ['switch.top_off off', 'switch.skimmer off', 'switch.skimmer on', 'switch.top_off on']);
  });

  test('a check before the start, a wait, a return pump on its way back, a wait after it', async () => {
    const from = calls.length;
    const fault = async (name: 'unavailable' | 'none'): Promise<void> => setFault(await owner(), 'return_a', name);
    await fault('unavailable');
    await home.pressAs('robin', 'start_pump_pause');
    await home.confirmAs('robin', '#begin');
    await killAt({ step: 'check:ready', kind: 'check', out: [], putRight: () => fault('none') });
    const down = ['Top-off', 'Skimmer', 'Heater'];
    await killAt({ step: 'wait:heater', kind: 'wait', out: down });
    await home.asked('hands-on:pause');
    await watts('return_b', 20);
    await home.confirmAs('robin', 'hands-on:pause');
    const out = [...down, 'Return pump A', 'Return pump B'];
    await killAt({
      ...{ step: 'on:return-b', kind: 'switch-on, sent, water mover', out },
      until: async () => waitForState(await owner(), 'switch.return_b', 'on'),
      putRight: () => watts('return_b', WATTS.return_b),
    });
    await killAt({ step: 'mark:top-off', kind: 'settle, all but one back', out: ['Top-off'] });
    await isOver('complete');
    const told = ours(from).map(({ entity, turn }) => `${entity} ${turn}`);
    assert.deepEqual(told, [
      ...['switch.top_off off', 'switch.skimmer off', `${THERMOSTAT} off`, 'switch.heater off'],
      ...['switch.return_a off', 'switch.return_b off', 'switch.return_b on', 'switch.return_a on'],
      ...['switch.heater on', `${THERMOSTAT} on`, 'switch.skimmer on', 'switch.top_off on'],
    ]);
  });

  test('at ten points and more, each time the same', (t) => {
    assert.ok(firsts.length >= 10);
    const told = rows.map((row, index) => {
      const first = firsts.find((one) => one.row === index);
      const next = first && ours(first.from, over.get(first.session))[0];
      return next === undefined ? row : [...row.slice(0, -1), `${next.entity} ${next.turn}`];
    });
    for (const line of table(told).split('\n')) t.diagnostic(line);
  });
});
