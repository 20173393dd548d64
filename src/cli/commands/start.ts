import { Command } from 'commander';
import { realSystem } from '../../io/system/index.ts';
import { hubToken, readConfig } from '../config-file.ts';
import type { CommandTools } from '../program.ts';
import { runService } from '../run-service.ts';
import { untilStopped } from '../signals.ts';

export function startCommand({ out, globals }: CommandTools): Command {
  return new Command('start').description('run the service').action(async () => {
    const loaded = await readConfig(globals().config);
    for (const warning of loaded.warnings) out.line(`warning: ${warning}`);
    const system = realSystem();
    const service = await runService({
      config: loaded.config,
      hubToken: await hubToken(loaded),
      system,
      simulated: false,
    });
    system.log.info(`the interface listens on ${service.api.url}`);
    await untilStopped();
    system.log.info('stopping');
    await service.stop();
  });
}
