// The product's service in a process of its own, so that it can be killed outright. Told and asked by its parent.
import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { runService } from '../../src/cli/run-service.ts';
import { loadConfig } from '../../src/config/index.ts';
import { realSystem } from '../../src/io/system/index.ts';

export type Usages = Readonly<
  Record<string, Readonly<Record<string, { readonly low: number; readonly best: number; readonly high: number }>>>
>;

/** Waits that are seconds or minutes in service are cut to the tank's clock. */
const HUB_OPTIONS = {
  settleMs: 300,
  retryMs: 100,
  retryMaxMs: 500,
  recorderMs: 10_000,
  keepAliveMs: 2_000,
  pongMs: 1_000,
};

const tell = (what: object): void => void process.send?.(what);

async function main(configFile: string): Promise<void> {
  const folder = dirname(configFile);
  const hubToken = readFileSync(join(folder, 'hub-token'), 'utf8').trim();
  const service = await runService({
    config: loadConfig(readFileSync(configFile, 'utf8'), configFile).config,
    hubToken,
    system: realSystem({ write: (line) => process.stderr.write(`${line.trimEnd()}\n`), secrets: [hubToken] }),
    simulated: false,
    hub: HUB_OPTIONS,
  });
  await service.app.settled();
  const usages = (): Usages =>
    Object.fromEntries(
      service.app
        .usage()
        .map(({ part, measures }) => [
          part,
          Object.fromEntries(measures.map(({ measure, low, best, high }) => [measure, { low, best, high }])),
        ]),
    );
  process.on('message', (message: { readonly ask: 'usage' | 'stop' }) => {
    if (message.ask === 'usage') tell({ usages: usages() });
    else void service.stop().then(() => process.disconnect?.());
  });
  tell({ ready: true });
}

const [configFile = ''] = process.argv.slice(2);
if (process.send !== undefined) await main(configFile);
