import { Command } from 'commander';
import type { Finding } from '../../condition/index.ts';
import { formatInstant } from '../../units/index.ts';
import { readConfig, serviceClient } from '../config-file.ts';
import { table } from '../layout.ts';
import type { Look } from '../output.ts';
import type { CommandTools } from '../program.ts';

const COLUMNS = [
  { title: 'Since' },
  { title: 'How sure' },
  { title: 'What was found', wrap: true },
  { title: 'Parts', wrap: true },
] as const;

export function conditionCommand({ out, globals }: CommandTools): Command {
  return new Command('condition')
    .description('what is found of the condition of the equipment, since when, how sure, and by what evidence')
    .action(async () => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const findings = await (await serviceClient(loaded, as)).condition();
      if (json === true) return out.json(findings);
      if (findings.length === 0) return out.line('Nothing is found.');
      out.line(foundTable(out.look, findings, loaded.config.tank.timeZone));
    });
}

export function foundTable(look: Look, findings: readonly Finding[], zone: string): string {
  const rows = findings.map(({ since, sure, evidence, parts }) => [
    formatInstant(since, zone),
    sure,
    evidence,
    parts.join(', '),
  ]);
  return table(look, COLUMNS, rows);
}
