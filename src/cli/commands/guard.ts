import { Command } from 'commander';
import type { GuardView } from '../../app/index.ts';
import { formatInstant } from '../../units/index.ts';
import { readConfig, serviceClient } from '../config-file.ts';
import { type Cell, type Column, table } from '../layout.ts';
import type { CommandTools } from '../program.ts';

const COLUMNS: readonly Column[] = [
  { title: 'Guard', wrap: true },
  { title: 'May switch off', wrap: true },
  { title: 'Now', wrap: true },
];

export function guardCommand(tools: CommandTools): Command {
  const command = new Command('guard').description('standing protections: they only switch off, and hold until reset');
  command.addCommand(listCommand(tools), { isDefault: true });
  command.addCommand(resetCommand(tools));
  return command;
}

function listCommand({ out, globals, hint }: CommandTools): Command {
  return new Command('list')
    .description('what guards there are, and which hold something off (also `guard` alone)')
    .action(async () => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const guards = await (await serviceClient(loaded, as)).guards();
      if (json === true) return out.json(guards);
      if (guards.length === 0) return out.line('No guard is configured.');
      out.line(
        table(
          out.look,
          COLUMNS,
          guards.map((one) => row(one, loaded.config.tank.timeZone)),
        ),
      );
      if (guards.some(({ latched }) => latched !== null))
        out.line(`\nWhen its cause is gone: ${hint('guard reset GUARD')}`);
    });
}

function row({ id, name, off, latched }: GuardView, zone: string): readonly Cell[] {
  const now: Cell =
    latched === null
      ? { text: 'watching', style: 'green' }
      : [
          { text: `latched since ${formatInstant(latched.since, zone)}: ${latched.reason}`, style: 'red' },
          { text: latched.provedOff ? 'seen off' : 'not proved off: pull the plug', style: 'yellow' },
        ];
  return [[{ text: name }, { text: id, style: 'dim' }], off.join(', '), now];
}

function resetCommand({ out, globals }: CommandTools): Command {
  return new Command('reset')
    .description('arm a latched guard again, in your name; switches nothing on')
    .argument('<guard>', 'its id, as `guard list` shows it')
    .action(async (id: string) => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const guard = await (await serviceClient(loaded, as)).resetGuard(id);
      if (json === true) return out.json(guard);
      out.line(`Reset: ${guard.name}. Nothing was switched on: ${guard.off.join(', ')} waits for you or its driver.`);
    });
}
