import { Command } from 'commander';
import { problem } from '../../errors/index.ts';
import { realSystem } from '../../io/system/index.ts';
import { alarmSecrets, alarmWays } from '../alarm-ways.ts';
import { readConfig } from '../config-file.ts';
import { type CommandTools, EXIT } from '../program.ts';

export function alarmsCommand({ out, globals, exitWith }: CommandTools): Command {
  const command = new Command('alarms').description('ways for alarms that do not pass through the hub');
  command
    .command('test')
    .description('send a test on each way, and one sign of life, and say what came of it')
    .action(async () => {
      const { config, json } = globals();
      const { alarms, tank } = (await readConfig(config)).config;
      const secrets = await alarmSecrets(alarms);
      const { clock, timers } = realSystem({ background: true, secrets: Object.values(secrets) });
      const { paths, heartbeat } = alarmWays(alarms, secrets, timers, []);
      if (paths.length === 0 && heartbeat === null) throw problem('SW-GRD-004');
      const text = 'This is a test. Alarms of the tank reach you this way, also when the hub does not answer.';
      const message = { key: 'test', kind: 'test', title: 'Slackwater test', text, at: clock.now() } as const;
      const told = await Promise.all(
        paths.map(async (path) => {
          const { sent, detail } = await path.send({ ...message, tank: tank.name, simulated: false });
          return { way: path.name, works: sent, detail };
        }),
      );
      const beat = await heartbeat?.beat({ tank: tank.name, at: clock.now(), hub: 'test' });
      const all = [
        ...told,
        ...(beat === undefined ? [] : [{ way: 'sign of life', works: beat.heard, detail: beat.detail }]),
      ];
      if (all.some(({ works }) => !works)) exitWith(EXIT.refused);
      if (json === true) return out.json(all);
      for (const { way, works, detail } of all)
        out.line(
          `${way.padEnd(14)}${works ? out.look.paint('green', 'works') : out.look.paint('red', 'does not work')}: ${detail}`,
        );
    });
  return command;
}
