import { Command } from 'commander';
import { readConfig } from '../config-file.ts';
import type { CommandTools } from '../program.ts';

export function checkCommand({ out, globals }: CommandTools): Command {
  return new Command('check')
    .description('check a configuration; every problem with its place and what is allowed')
    .argument('[file]', 'the configuration; --config otherwise')
    .action(async (file: string | undefined) => {
      const { config: named, json } = globals();
      const { config, warnings, file: path } = await readConfig(file ?? named);
      const { tank } = config;
      const counts = {
        equipment: tank.equipment.length,
        sensors: tank.sensors.length,
        counters: tank.counters.length,
        parts: tank.parts.length,
      };
      if (json === true) return out.json({ file: path, ok: true, warnings, ...counts });
      for (const warning of warnings) out.line(`warning: ${warning}`);
      out.line(
        `${path} is in order: ${tank.name}, ${counts.equipment} equipment, ${counts.sensors} sensors, ${counts.counters} counters, ${counts.parts} parts.`,
      );
    });
}
