// On the simulated home, over real sockets: a relay welds, its guard tells it by the hub and beside it. The hub dies: that is
// told beside it. The service starts anew: the guard still holds, and only a person takes it back.
import assert from 'node:assert/strict';
import { mkdtemp, rm } from 'node:fs/promises';
import { createServer, type Server } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, describe, test } from 'node:test';
import { type RunningService, runService } from '../../src/cli/run-service.ts';
import { loadConfig } from '../../src/config/index.ts';
import { createHeartbeat, createWebhookPath } from '../../src/io/notify/index.ts';
import { keptLog, realSystem, scaledSystem } from '../../src/io/system/index.ts';
import { DEMO_NOW, type DemoHome, startDemoHome } from '../../src/sim/index.ts';
import { eventually } from '../support/eventually.ts';
import { freePort } from '../support/hub-process.ts';

const PACE = 30;
const GUARDS = `guards:
  welded: { name: Welded relay, kind: welded-relay, off: [heater-1] }
alarms: { hubSilent: 2 min }
`;

type Told = { readonly kind: string; readonly key: string; readonly text: string };

describe('a guard on the simulated home', () => {
  const real = realSystem();
  const log = keptLog();
  const told: Told[] = [];
  let beats = 0;
  let listener: Server;
  let url = '';
  let folder: string;
  let home: DemoHome;
  let service: RunningService;
  const system = { ...scaledSystem(real, PACE, DEMO_NOW), log };

  const start = async (): Promise<RunningService> => {
    const text = `${home.tankYaml}\n${GUARDS}`;
    const { config } = loadConfig(text, join(folder, 'slackwater.yaml'));
    return runService({
      config: { ...config, api: { ...config.api, port: await freePort() } },
      hubToken: home.hub.token,
      system,
      simulated: true,
      tickMs: 1_500,
      hub: { linkTimers: real.timers, linkClock: real.clock, settleMs: 0 },
      alarms: {
        paths: [createWebhookPath({ url: `${url}/alarm`, timers: real.timers, tryAgain: [100, 500] })],
        heartbeat: createHeartbeat({ url: `${url}/beat`, method: 'GET', everyMs: 60_000 }),
      },
    });
  };
  const alarms = (key: string): readonly string[] =>
    told.filter((one) => one.kind === 'alarm' && one.key === key).map(({ text }) => text);

  before(async () => {
    listener = createServer((request, response) => {
      let body = '';
      request.on('data', (chunk: Buffer) => {
        body += chunk.toString();
      });
      request.on('end', () => {
        if (request.url === '/alarm') told.push(JSON.parse(body) as Told);
        else beats++;
        response.writeHead(204).end();
      });
    });
    await new Promise<void>((resolve) => listener.listen(0, '127.0.0.1', resolve));
    const address = listener.address();
    url = `http://127.0.0.1:${typeof address === 'object' && address !== null ? address.port : 0}`;
    folder = await mkdtemp(join(tmpdir(), 'slackwater-guard-'));
    home = await startDemoHome({ seed: 3, system, historyDays: 2 });
    service = await start();
    await service.app.settled();
  });
  after(async () => {
    home?.person.leave();
    await service?.stop();
    await home?.hub.close();
    listener?.closeAllConnections();
    listener?.close();
    await rm(folder, { recursive: true, force: true });
  });

  test('a relay that says off while its watts go on latches it, told by the hub and beside it', async () => {
    // The thermostat would switch it as well, at a moment of its own.
    home.hub.call('climate.turn_off', 'climate.display');
    home.hub.call('switch.turn_on', 'switch.heater_1');
    await eventually('the heater heats', () => Number(home.hub.state('sensor.heater_1_power')?.state) > 150);
    home.hub.setFault('heater_1', 'echo-off-keeps-watts');
    home.hub.call('switch.turn_off', 'switch.heater_1');
    const text = await eventually('the alarm beside the hub', () => alarms('guard_welded')[0]);
    assert.match(
      text,
      /^Welded relay: Heater 1 reports off and still draws 19\d W: its relay may be welded\. Pull its plug/,
    );
    await eventually('the alarm in the hub', () => home.hub.notifications().some((one) => one.message === text));
    assert.equal(home.hub.plug('heater_1').relayClosed, true, 'it is welded in truth');
    await eventually('that it is not proved off', () => alarms('guard_welded_unproved_heater_1')[0]);
  });

  test('it shows in the hub and in what the service says of itself', async () => {
    await eventually(
      'the state in the hub',
      () => home.hub.state('binary_sensor.slackwater_attention')?.state === 'on',
    );
    assert.ok(service.app.attention().some(({ id }) => id === 'welded'));
  });

  test('a dead hub is told beside it, while the sign of life goes on', async () => {
    await home.hub.stop();
    await eventually('the alarm beside the hub', () => alarms('hub_silent')[0]);
    const before = beats;
    await eventually('another sign of life', () => beats > before);
    await home.hub.start({ startingMs: 0 });
    await eventually('the word that it is over', () =>
      told.some(({ kind, key }) => kind === 'over' && key === 'hub_silent'),
    );
  });

  test('the service started anew still holds it, and sends nothing on', async () => {
    await service.stop();
    service = await start();
    await service.app.settled();
    assert.match(service.app.guards()[0]?.latched?.reason ?? '', /its relay may be welded/);
    home.hub.unplug('heater_1');
    await eventually('it is seen off', () => service.app.guards()[0]?.latched?.provedOff === true);
  });

  test('a person takes it back, and nothing is switched by that', async () => {
    const by = { kind: 'person', name: 'Duty caretaker', via: 'api' } as const;
    assert.equal((await service.app.resetGuard('welded', by)).latched, null);
    assert.equal(home.hub.state('switch.heater_1')?.state, 'off');
    await eventually('the hub no longer shows it', () =>
      home.hub.notifications().every(({ message }) => !message.startsWith('Welded relay')),
    );
    assert.ok(service.app.attention().every(({ id }) => id !== 'welded'));
  });
});
