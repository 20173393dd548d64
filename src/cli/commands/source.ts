import { Command } from 'commander';
import { problem } from '../../errors/index.ts';
import { formatInstant } from '../../units/index.ts';
import { readConfig, serviceClient } from '../config-file.ts';
import { table } from '../layout.ts';
import type { CommandTools } from '../program.ts';

const WAYS = {
  replace: 'the same device on another plug or meter: its hours stay',
  move: 'the plug went to another device: what it feeds begins anew, what it fed before has no source',
} as const;

const ENTITY = /^[a-z][a-z0-9_]*\.[a-z0-9][a-z0-9_]*$/;

export function sourceCommand(tools: CommandTools): Command {
  const command = new Command('source').description('say that a counter reads another entity of the hub from now on');
  for (const how of ['replace', 'move'] as const)
    command
      .command(how)
      .description(WAYS[how])
      .argument('<name>', 'a counter, or an equipment for the counters that read its plug')
      .requiredOption('--entity <entity>', 'what is read from now on, as in switch.new_plug')
      .action((name: string, { entity }: { entity: string }) => change(tools, how, name, entity));
  return command;
}

async function change(tools: CommandTools, how: 'replace' | 'move', name: string, entity: string): Promise<void> {
  const { out, globals } = tools;
  if (!ENTITY.test(entity))
    throw problem('SW-CLI-007', {
      option: '--entity',
      found: entity,
      expected: 'an entity of the hub, as in switch.new_plug',
      command: `source ${how}`,
    });
  const { config, as, json } = globals();
  const loaded = await readConfig(config);
  const sources = await (await serviceClient(loaded, as)).changeSource(name, how, entity);
  if (json === true) return out.json(sources);
  const rows = sources.map((one) => [
    one.counter,
    one.entity ?? 'nothing',
    formatInstant(one.from, loaded.config.tank.timeZone),
  ]);
  out.line(table(out.look, [{ title: 'Counter' }, { title: 'Reads' }, { title: 'From' }], rows));
  out.line('The service starts anew to read it. Change the configuration, too; `status` warns until both agree.');
  out.line('Sessions switch what the configuration says: name a new plug there before the next one.');
}
