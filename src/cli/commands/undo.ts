import { Command } from 'commander';
import { readConfig, serviceClient } from '../config-file.ts';
import { hang } from '../layout.ts';
import type { CommandTools } from '../program.ts';
import { usageTable } from '../render.ts';
import { partCalled } from '../words.ts';

export function undoCommand({ out, globals }: CommandTools): Command {
  return new Command('undo')
    .description('take the latest record of a part back: the life before it goes on')
    .argument('<part>', 'its id, as `usage` and `due` show it')
    .action(async (id: string) => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const { id: part } = partCalled(loaded, id);
      const undone = await (await serviceClient(loaded, as)).undo(part);
      if (json === true) return out.json(undone);
      out.line(hang(out.look, 'Taken back: ', `${undone.what}.`));
      out.line(usageTable(out.look, [undone.usage], loaded.config.tank.timeZone));
    });
}
