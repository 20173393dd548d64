import { Command } from 'commander';
import { realSystem } from '../../io/system/index.ts';
import { hubToken, readConfig } from '../config-file.ts';
import type { CommandTools } from '../program.ts';
import { runService } from '../run-service.ts';
import { StopAsked, stopSignal, unlessAborted, untilAborted } from '../stop.ts';

export function startCommand({ out, globals }: CommandTools): Command {
  return new Command('start')
    .description('run the service: count, remind, and answer the other commands until it is stopped')
    .addHelpText('after', '\nIts log goes to standard error. Stop it with Ctrl-C or SIGTERM.')
    .action(async () => {
      const loaded = await readConfig(globals().config);
      for (const warning of loaded.warnings) out.note(`warning: ${warning}`);
      const token = await hubToken(loaded);
      const system = realSystem({ write: out.log, secrets: [token] });
      const signal = stopSignal();
      try {
        const service = await runService({
          config: loaded.config,
          hubToken: token,
          system,
          simulated: false,
          signal,
          onProgress: (share) => out.progress('reading the history of the hub', share),
        });
        system.log.info(`the interface listens on ${service.api.url}`);
        try {
          await unlessAborted(service.app.settled(), signal);
          out.progressDone();
          system.log.info('history has been read; counting goes on live');
          await untilAborted(signal);
        } finally {
          out.progressDone();
          system.log.info('stopping');
          await service.stop();
        }
      } catch (error) {
        // Being stopped is how a service ends, also where the hub was never reached.
        if (!(error instanceof StopAsked)) throw error;
      }
    });
}
