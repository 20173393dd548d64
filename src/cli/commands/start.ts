import { Command } from 'commander';
import { SlackwaterError } from '../../errors/index.ts';
import { realSystem } from '../../io/system/index.ts';
import { alarmSecrets, alarmWays } from '../alarm-ways.ts';
import { hubToken, readConfig } from '../config-file.ts';
import { type CommandTools, EXIT } from '../program.ts';
import { runService, type ServiceOptions } from '../run-service.ts';
import { StopAsked, stopSignal, untilAborted } from '../stop.ts';

const isRefusal = (error: unknown): boolean =>
  error instanceof SlackwaterError && (error.code === 'SW-HUB-002' || error.code === 'SW-HUB-003');

export function startCommand({ out, globals, exitWith }: CommandTools): Command {
  return new Command('start')
    .description('run the service: count, remind, and answer the other commands until it is stopped')
    .addHelpText('after', '\nIts log goes to standard error. Stop it with Ctrl-C or SIGTERM.')
    .action(async () => {
      const loaded = await readConfig(globals().config);
      for (const warning of loaded.warnings) out.note(`warning: ${warning}`);
      const token = await hubToken(loaded);
      const secrets = await alarmSecrets(loaded.config.alarms);
      const system = realSystem({ write: out.log, secrets: [token, ...Object.values(secrets)] });
      const alarms = alarmWays(loaded.config.alarms, secrets, system.timers);
      const signal = stopSignal();
      const onProgress = (share: number): void => out.progress('reading the history of the hub', share);
      try {
        const run = { config: loaded.config, hubToken: token, system, simulated: false, signal, onProgress, alarms };
        while (await runOnce(run, () => out.progressDone())) system.log.info('a source was changed; starting anew');
      } catch (error) {
        // Being stopped is how a service ends, also where the hub was never reached.
        if (error instanceof StopAsked) return;
        if (!isRefusal(error)) throw error;
        // The log has said it, once.
        exitWith(EXIT.refused);
      }
    });
}

/** True where it ended because a counter was given another source, which only a new start reads. */
async function runOnce(options: ServiceOptions & { readonly signal: AbortSignal }, done: () => void): Promise<boolean> {
  const { system, signal } = options;
  const again = new AbortController();
  const service = await runService({ ...options, onSourcesChanged: () => again.abort() });
  system.log.info(`the interface listens on ${service.api.url}`);
  const either = AbortSignal.any([signal, again.signal]);
  try {
    await Promise.race([service.app.settled(), untilAborted(either)]);
    done();
    if (!either.aborted) system.log.info('history has been read; counting goes on live');
    await untilAborted(either);
  } finally {
    done();
    system.log.info('stopping');
    await service.stop();
  }
  return !signal.aborted;
}
