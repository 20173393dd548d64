import { Command } from 'commander';
import { formatInstant, formatNumber } from '../../units/index.ts';
import { readConfig, serviceClient } from '../config-file.ts';
import { table } from '../layout.ts';
import type { CommandTools } from '../program.ts';

const COLUMNS = [
  { title: 'When' },
  { title: 'Counter', wrap: true },
  { title: 'Before', right: true },
  { title: 'After', right: true },
] as const;

export function resetsCommand({ out, globals }: CommandTools): Command {
  return new Command('resets')
    .description('every fall of a meter that was taken as a reset, with its readings before and after')
    .action(async () => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const zone = loaded.config.tank.timeZone;
      const resets = await (await serviceClient(loaded, as)).resets();
      if (json === true) return out.json(resets);
      if (resets.length === 0) return out.line('No meter was reset since counting began.');
      const rows = resets.map(({ at, counter, before, after }) => [
        formatInstant(at, zone, { seconds: true }),
        counter,
        formatNumber(before, 3),
        formatNumber(after, 3),
      ]);
      out.line(table(out.look, COLUMNS, rows));
    });
}
