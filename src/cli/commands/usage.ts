import { Command } from 'commander';
import { didYouMean, listWords, problem } from '../../errors/index.ts';
import { readConfig, serviceClient } from '../config-file.ts';
import type { CommandTools } from '../program.ts';
import { usageTable, whyTables } from '../render.ts';

export function usageCommand({ out, globals }: CommandTools): Command {
  return new Command('usage')
    .description('how much each part has been used, with bounds')
    .option('--why <part>', 'the stretches that made up the usage of one part, and where each is known from')
    .action(async ({ why }: { why?: string }) => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const zone = loaded.config.tank.timeZone;
      if (why === undefined) {
        const usages = await (await serviceClient(loaded, as)).usage();
        return json === true ? out.json(usages) : out.line(usageTable(out.look, usages, zone));
      }
      const known = loaded.config.tank.parts.map((part) => part.id);
      if (!known.includes(why))
        throw problem('SW-CLI-002', {
          found: why,
          known: listWords(known),
          hint: didYouMean(why, known, 'See `slackwater usage` for all parts.'),
        });
      const rows = await (await serviceClient(loaded, as)).why(why);
      if (json === true) return out.json(rows);
      out.line(
        rows.length === 0 ? 'Nothing is counted for this part; its limit is its age.' : whyTables(out.look, rows, zone),
      );
    });
}
