// The service as its own process, on the clock of a simulated home in the parent. Prints its memory when asked.
import { readFileSync } from 'node:fs';
import { runService } from '../../src/cli/index.ts';
import { loadConfig } from '../../src/config/index.ts';
import { realSystem, scaledSystem } from '../../src/io/system/index.ts';

const [file = '', token = '', homeOffsetMs = '0'] = process.argv.slice(2);
const real = realSystem({ quiet: true });
const { config } = loadConfig(readFileSync(file, 'utf8'), file);
const service = await runService({
  config: { ...config, api: { ...config.api, port: 0 } },
  hubToken: token,
  system: scaledSystem(real, 1, real.clock.now() + Number(homeOffsetMs)),
  simulated: true,
  // A hub that has only just started is given time to come to rest; that wait is not ours to measure.
  hub: { settleMs: 0 },
});
await service.app.settled();
process.send?.({ kind: 'settled', rssMb: process.memoryUsage().rss / 2 ** 20 });
process.on('message', (message) => {
  if (message === 'memory') process.send?.({ kind: 'memory', rssMb: process.memoryUsage().rss / 2 ** 20 });
  if (message === 'stop') void service.stop().then(() => process.exit(0));
});
