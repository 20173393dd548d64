import { Command } from 'commander';
import { readConfig, serviceClient } from '../config-file.ts';
import type { CommandTools } from '../program.ts';
import { dueTable } from '../render.ts';

export function dueCommand({ out, globals }: CommandTools): Command {
  return new Command('due')
    .description('what is due, soon due or put off, and why')
    .option('-a, --all', 'also the parts that are fine')
    .action(async ({ all }: { all?: boolean }) => {
      const { config, as, json } = globals();
      const client = await serviceClient(await readConfig(config), as);
      const standings = await client.due();
      const shown = all === true ? standings : standings.filter((one) => one.word !== 'fine');
      if (json === true) return out.json(shown);
      if (shown.length === 0) return out.line('Nothing is due.');
      out.line(dueTable(shown));
      const fine = standings.length - shown.length;
      if (fine > 0) out.line(`\n${fine} more ${fine === 1 ? 'part is' : 'parts are'} fine; --all shows them.`);
    });
}
