import { Command } from 'commander';
import { readConfig, serviceClient } from '../config-file.ts';
import type { CommandTools } from '../program.ts';
import { usageTable } from '../render.ts';
import { amountsOf, momentOf, partCalled } from '../words.ts';

type Options = { readonly fitted: string; readonly used?: readonly string[]; readonly note?: string };

export function seedCommand({ out, globals }: CommandTools): Command {
  return new Command('seed')
    .description('give a part that was fitted before counting began its past')
    .argument('<part>', 'its id, as `usage` and `due` show it')
    .requiredOption('--fitted <time>', 'when it was fitted: "2025-03-01", in the time of the tank')
    .option('--used <amount...>', 'what is on it now by your word: "1,200 h", or "1,100 h to 1,300 h" if unsure')
    .option('--note <text>', 'kept with the record')
    .addHelpText(
      'after',
      '\nWithout --used the hub is asked what it still knows of that time; the rest shows as bounds.\nA mistake is taken back with `slackwater undo`.',
    )
    .action(async (id: string, { fitted, used, note }: Options) => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const part = partCalled(loaded, id);
      const usage = await (await serviceClient(loaded, as)).seed(part.id, {
        fittedAt: momentOf(loaded, '--fitted', fitted, 'seed'),
        ...(used === undefined ? {} : { used: amountsOf(part, used) }),
        ...(note === undefined ? {} : { note }),
      });
      if (json === true) return out.json(usage);
      out.line(`Recorded: ${usage.name}, fitted ${fitted}.`);
      out.line(usageTable(out.look, [usage], loaded.config.tank.timeZone));
    });
}
