import assert from 'node:assert/strict';
import { type ChildProcess, fork } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { realSystem, scaledSystem } from '../../src/io/system/index.ts';
import { DEMO_NOW, demoTankYaml, type SimHub, startSimHub } from '../../src/sim/index.ts';

export type ServiceBench = {
  readonly samples: number;
  /** From the hub's change of a plug to the changed counter standing in the hub. */
  readonly eventToPublishedP50Ms: number;
  readonly eventToPublishedP99Ms: number;
  /** Of the service's process after the samples, in a run that did not have to read the past. */
  readonly rssMb: number;
  readonly rssAfterHistoryMb: number;
  /** First start: eighteen months of history read and counted. */
  readonly firstStartMs: number;
  /** From the start of the process to its first counter in the hub, with those eighteen months in the store. */
  readonly coldStartMs: number;
};

const SAMPLES = 200;
const PLUG = 'switch.heater_1';
const COUNTER = 'sensor.slackwater_heater_1_starts';

/** The service in a process of its own, its hub simulated in this one. */
export async function benchService(): Promise<ServiceBench> {
  const real = realSystem({ quiet: true });
  const offsetMs = DEMO_NOW - real.clock.now();
  const hub = await startSimHub({ seed: 1, system: scaledSystem(real, 1, DEMO_NOW) });
  const folder = await mkdtemp(join(tmpdir(), 'slackwater-bench-'));
  const file = join(folder, 'slackwater.yaml');
  await writeFile(file, demoTankYaml(hub.url));
  try {
    const first = await start(hub, file, offsetMs);
    await end(first.child);
    const second = await start(hub, file, offsetMs);
    // The home's thermostat would switch the plug as well.
    hub.call('climate.turn_off', 'climate.display');
    const delays = await sample(hub);
    const rssMb = await memory(second.child);
    await end(second.child);
    const sorted = delays.sort((a, b) => a - b);
    const at = (share: number): number => sorted[Math.floor((sorted.length - 1) * share)] ?? Number.NaN;
    return {
      samples: sorted.length,
      eventToPublishedP50Ms: at(0.5),
      eventToPublishedP99Ms: at(0.99),
      rssMb,
      rssAfterHistoryMb: first.rssMb,
      firstStartMs: first.firstCounterMs,
      coldStartMs: second.firstCounterMs,
    };
  } finally {
    await hub.close();
    await rm(folder, { recursive: true, force: true });
  }
}

async function start(hub: SimHub, file: string, offsetMs: number) {
  const began = performance.now();
  const published = nextChange(hub, COUNTER);
  const child = fork(new URL('./service-child.ts', import.meta.url), [file, hub.token, String(offsetMs)]);
  const settled = message(child, 'settled');
  const firstCounterMs = (await published) - began;
  const { rssMb } = await settled;
  return { child, firstCounterMs, rssMb };
}

/** When this process saw the entity change next. */
function nextChange(hub: SimHub, entity: string): Promise<number> {
  return new Promise((resolve) => {
    const stop = hub.onState((change) => {
      if (change.entity !== entity || change.next === null) return;
      stop();
      resolve(performance.now());
    });
  });
}

async function sample(hub: SimHub): Promise<number[]> {
  const delays: number[] = [];
  while (delays.length < SAMPLES) {
    const off = nextChange(hub, PLUG);
    if (hub.state(PLUG)?.state === 'on') {
      hub.call('switch.turn_off', PLUG);
      await off;
    }
    const changed = nextChange(hub, PLUG);
    const published = nextChange(hub, COUNTER);
    hub.call('switch.turn_on', PLUG);
    delays.push(-(await changed) + (await published));
  }
  return delays;
}

async function memory(child: ChildProcess): Promise<number> {
  const answer = message(child, 'memory');
  child.send('memory');
  return (await answer).rssMb;
}

async function end(child: ChildProcess): Promise<void> {
  const exit = once(child, 'exit');
  child.send('stop');
  const [code] = await exit;
  assert.equal(code, 0, 'the service ended cleanly');
}

function message(child: ChildProcess, kind: string): Promise<{ readonly rssMb: number }> {
  return new Promise((resolve, reject) => {
    const onExit = (code: number | null): void => reject(new Error(`the service ended early with code ${code}`));
    child.once('exit', onExit);
    const onMessage = (answer: unknown): void => {
      const { kind: found, rssMb } = answer as { kind: string; rssMb: number };
      if (found !== kind) return;
      child.off('message', onMessage);
      child.off('exit', onExit);
      resolve({ rssMb });
    };
    child.on('message', onMessage);
  });
}
