// The service on the simulated home, in this process, for scenarios that talk to it as a keeper does.
import { type DemoOptions, type RunningDemo, startDemo } from '../../src/cli/demo-home.ts';
import { keptLog } from '../../src/io/system/index.ts';
import { freePort } from '../support/hub-process.ts';

export type DemoService = RunningDemo & { readonly log: ReturnType<typeof keptLog> };

/** With all of its history read. */
export async function demoService(options: Partial<DemoOptions> = {}): Promise<DemoService> {
  const log = keptLog();
  const demo = await startDemo({
    seed: 1,
    pace: 60,
    faults: {},
    limits: [],
    behaviour: 'helpful',
    port: await freePort(),
    log,
    ...options,
  });
  await demo.service.app.settled();
  return { ...demo, log };
}
