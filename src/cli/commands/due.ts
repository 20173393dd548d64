import { Command } from 'commander';
import type { ApiStatus } from '../../web/index.ts';
import { readConfig, serviceClient } from '../config-file.ts';
import type { CommandTools } from '../program.ts';
import { dueTable } from '../render.ts';

export function dueCommand({ out, globals }: CommandTools): Command {
  return new Command('due')
    .description('what is due, soon due or put off, and why')
    .option('-a, --all', 'also the parts that are fine')
    .action(async ({ all }: { all?: boolean }) => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const client = await serviceClient(loaded, as);
      const [standings, status] = [await client.due(), await client.status()];
      const shown = all === true ? standings : standings.filter((one) => one.word !== 'fine');
      if (status.hub !== 'up') out.note(`warning: ${hubWords(status)}`);
      if (json === true) return out.json(shown);
      if (shown.length === 0) return out.line('Nothing is due.');
      out.line(dueTable(out.look, shown, loaded.config.tank.timeZone));
      const fine = standings.length - shown.length;
      if (fine > 0) out.line(`\n${fine} more ${fine === 1 ? 'part is' : 'parts are'} fine; --all shows them.`);
    });
}

/** While the hub is away every figure is as of then, with bounds that widen. */
function hubWords({ hub }: ApiStatus): string {
  if (hub === 'refused') return 'the hub refused the token; nothing is counted until it is corrected.';
  if (hub === 'connecting') return 'the hub has not been reached yet.';
  return 'the hub is not connected; what passes until it is back is a gap with bounds.';
}
