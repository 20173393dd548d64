import { Command } from 'commander';
import { type AuditWord, auditOf } from '../../procedure/guards/index.ts';
import { readConfig } from '../config-file.ts';
import { type Column, hang, table } from '../layout.ts';
import type { Style } from '../output.ts';
import type { CommandTools } from '../program.ts';

const WORDS: Readonly<Record<AuditWord, { readonly text: string; readonly style: Style }>> = {
  mismatch: { text: 'change it', style: 'red' },
  unknown: { text: 'look', style: 'yellow' },
  note: { text: 'know it', style: 'yellow' },
  fine: { text: 'fine', style: 'green' },
};

const COLUMNS: readonly Column[] = [
  { title: '' },
  { title: 'Plug', wrap: true },
  { title: 'Found' },
  { title: 'Wanted' },
  { title: 'Why', wrap: true },
];

export function auditCommand({ out, globals }: CommandTools): Command {
  return new Command('audit')
    .description(
      'what each plug does when power comes back, against what its role needs; pairs on one strip or circuit',
    )
    .option('-a, --all', 'also what is fine')
    .addHelpText(
      'after',
      '\nTells of the configuration: `startUp`, `strip` and `circuit` of each equipment. Look once a month.',
    )
    .action(async ({ all = false }: { all?: boolean }) => {
      const { config, json } = globals();
      const audit = auditOf((await readConfig(config)).config.tank);
      if (json === true) return out.json(audit);
      const { look, line } = out;
      const shown = audit.startUp.filter(({ word }) => all || word !== 'fine');
      const rows = shown.map(({ name, word, found, expected, text }) => [
        WORDS[word],
        name,
        found,
        expected,
        text.slice(name.length + 2),
      ]);
      line(
        rows.length === 0 ? 'Every plug does what its role needs when power comes back.' : table(look, COLUMNS, rows),
      );
      const fine = audit.startUp.length - shown.length;
      if (fine > 0) line(`\n${fine} of ${audit.startUp.length} plugs are fine.`);
      if (audit.pairs.length > 0) line(`\n${look.paint('bold', 'Pairs')}`);
      for (const { text } of audit.pairs) line(hang(look, '  ', `${text}.`));
    });
}
