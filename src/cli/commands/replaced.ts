import { Command } from 'commander';
import { problem } from '../../errors/index.ts';
import { parseInstant } from '../../units/index.ts';
import { readConfig, serviceClient } from '../config-file.ts';
import type { CommandTools } from '../program.ts';
import { usageTable } from '../render.ts';

export function replacedCommand({ out, globals }: CommandTools): Command {
  return new Command('replaced')
    .description('a part was replaced or serviced: its count starts anew, the old life is kept')
    .argument('<part>', 'its id, as `usage` and `due` show it')
    .option('--at <time>', 'when, if not now: "2026-11-20" or "2026-11-20 14:30", in the time of the tank')
    .option('--note <text>', 'kept with the record')
    .action(async (part: string, { at, note }: { at?: string; note?: string }) => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const zone = loaded.config.tank.timeZone;
      const when = at === undefined ? undefined : parseInstant(at, zone);
      if (when !== undefined && !when.ok)
        throw problem('SW-CLI-007', {
          option: '--at',
          found: at ?? '',
          expected: 'a day or a time, as in "2026-11-20 14:30"',
          command: 'replaced',
        });
      const usage = await (await serviceClient(loaded, as)).replaced(part, when?.value, note);
      if (json === true) return out.json(usage);
      out.line(`Recorded: ${usage.name}, number ${usage.life}.`);
      out.line(usageTable(out.look, [usage], zone));
    });
}
