import { Command } from 'commander';
import { PERIODS, type Period } from '../../app/index.ts';
import { problem } from '../../errors/index.ts';
import { readConfig, serviceClient } from '../config-file.ts';
import { periodTable } from '../period-text.ts';
import type { CommandTools } from '../program.ts';
import { usageTable, whyTables } from '../render.ts';
import { partCalled } from '../words.ts';
import { foundTable } from './condition.ts';

export function usageCommand({ out, globals }: CommandTools): Command {
  return new Command('usage')
    .description('how much each part has been used, with bounds')
    .option('--why <part>', 'the stretches that made up the usage of one part, and where each is known from')
    .option('--period <period>', `only the use within it: ${PERIODS.join(', ')}; days are cut in the zone of the tank`)
    .action(async ({ why, period: wanted }: { why?: string; period?: string }) => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const zone = loaded.config.tank.timeZone;
      if (wanted !== undefined) {
        const usages = await (await serviceClient(loaded, as)).usageIn(periodOf(wanted));
        return json === true ? out.json(usages) : out.line(periodTable(out.look, usages, zone));
      }
      if (why === undefined) {
        const usages = await (await serviceClient(loaded, as)).usage();
        return json === true ? out.json(usages) : out.line(usageTable(out.look, usages, zone));
      }
      partCalled(loaded, why);
      const client = await serviceClient(loaded, as);
      const rows = await client.why(why);
      if (json === true) return out.json(rows);
      const findings = (await client.condition()).filter(({ parts }) => parts.includes(why));
      out.line(
        rows.length === 0 ? 'Nothing is counted for this part; its limit is its age.' : whyTables(out.look, rows, zone),
      );
      if (findings.length > 0) out.line(`\n${foundTable(out.look, findings, zone)}`);
    });
}

function periodOf(text: string): Period {
  const period = PERIODS.find((one) => one === text);
  if (period !== undefined) return period;
  throw problem('SW-CLI-007', {
    option: '--period',
    found: text,
    expected: `one of ${PERIODS.join(', ')}`,
    command: 'usage',
  });
}
