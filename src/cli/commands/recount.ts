import { Command } from 'commander';
import { problem } from '../../errors/index.ts';
import { formatBounds, formatNumber, parseQuantity } from '../../units/index.ts';
import { readConfig, serviceClient } from '../config-file.ts';
import type { CommandTools } from '../program.ts';
import { partCalled } from '../words.ts';

export function recountCommand({ out, globals, hint }: CommandTools): Command {
  return new Command('recount')
    .description('count on-hours again with another threshold, from the minutes of power that were kept')
    .argument('<part>', 'its id, as `usage` and `due` show it')
    .requiredOption('--threshold <power>', 'on when above: "20 W"')
    .option('--yes', 'put the new figure in force; without it both are only shown')
    .action(async (id: string, { threshold, yes = false }: { threshold: string; yes?: boolean }) => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const part = partCalled(loaded, id);
      const watts = parseQuantity('power', threshold);
      if (!watts.ok || watts.value <= 0)
        throw problem('SW-CLI-007', {
          option: '--threshold',
          found: threshold,
          expected: 'a power above zero, as in "20 W"',
          command: 'recount',
        });
      const made = await (await serviceClient(loaded, as)).recount(part.id, watts.value, yes);
      if (json === true) return out.json(made);
      const kept = Math.round((100 * made.keptMinutes) / Math.max(1, made.allMinutes));
      out.line(`${made.name}, ${made.measure} of the present life, above ${formatNumber(made.thresholdW, 1)} W:`);
      out.line(`  before  ${formatBounds(made.old, made.unit)}`);
      out.line(`  now     ${formatBounds(made.now, made.unit)}`);
      out.line(`Power was kept for ${kept} % of its minutes; the rest is in the bounds.`);
      if (made.taken)
        return out.line(
          'The new figure is in force. Counting goes on with the threshold of the configuration: change it there.',
        );
      out.line('Nothing was changed. To take the new figure:');
      out.line(`  ${hint(`recount ${id} --threshold "${threshold}" --yes`)}`);
    });
}
