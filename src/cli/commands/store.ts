import { resolve } from 'node:path';
import { Command } from 'commander';
import { problem } from '../../errors/index.ts';
import { backupStore, EXPORT_FORMATS, exportStore, importStore, restoreStore } from '../../io/store/index.ts';
import { formatNumber } from '../../units/index.ts';
import { readConfig } from '../config-file.ts';
import { table } from '../layout.ts';
import type { CommandTools } from '../program.ts';

const MEGABYTE = 1_000_000;
const megabytes = (bytes: number): string => `${formatNumber(bytes / MEGABYTE, 1)} MB`;

async function storeFile({ globals }: CommandTools): Promise<string> {
  return (await readConfig(globals().config)).config.storeFile;
}

export function backupCommand(tools: CommandTools): Command {
  const { out, globals } = tools;
  return new Command('backup')
    .description('copy the store to a file; a running service is not disturbed')
    .argument('<file>', 'where the copy goes; nothing is overwritten')
    .action(async (to: string) => {
      const report = await backupStore(await storeFile(tools), resolve(to));
      if (globals().json === true) return out.json(report);
      out.line(`Copied and checked: ${report.file}, ${megabytes(report.bytes)}.`);
    });
}

export function restoreCommand(tools: CommandTools): Command {
  const { out, globals } = tools;
  return new Command('restore')
    .description('put a backup in the place of the store; the service must be stopped')
    .argument('<file>', 'a copy that `backup` made')
    .addHelpText('after', '\nWhat was there before stays beside it under another name.')
    .action(async (from: string) => {
      const report = await restoreStore(resolve(from), await storeFile(tools));
      if (globals().json === true) return out.json(report);
      out.line(`Restored: ${report.file}, ${megabytes(report.bytes)}.`);
      if (report.replaced !== null) out.line(`The store that was there is now ${report.replaced}.`);
    });
}

export function exportCommand(tools: CommandTools): Command {
  const { out, globals } = tools;
  return new Command('export')
    .description('write everything in the store to a folder, for other programs to read')
    .argument('<folder>', 'a new or empty one')
    .option('--format <format>', EXPORT_FORMATS.join(' or '), 'csv')
    .action(async (folder: string, { format: wanted }: { format: string }) => {
      const format = EXPORT_FORMATS.find((one) => one === wanted);
      if (format === undefined)
        throw problem('SW-CLI-007', {
          option: '--format',
          found: wanted,
          expected: EXPORT_FORMATS.join(' or '),
          command: 'export',
        });
      const report = await exportStore(await storeFile(tools), resolve(folder), format);
      if (globals().json === true) return out.json(report);
      out.line(rowsTable(tools, report.files));
      out.line(`\nWritten to ${report.folder}. It holds no credential; times are UTC.`);
    });
}

export function importCommand(tools: CommandTools): Command {
  const { out, globals } = tools;
  return new Command('import')
    .description('make a store from a folder that `export` wrote; there must be none yet')
    .argument('<folder>', 'as `export` wrote it')
    .action(async (folder: string) => {
      const report = await importStore(resolve(folder), await storeFile(tools));
      if (globals().json === true) return out.json(report);
      out.line(rowsTable(tools, report.rows));
      out.line(`\nRead into ${report.file}.`);
    });
}

const rowsTable = ({ out }: CommandTools, counts: Readonly<Record<string, number>>): string =>
  table(
    out.look,
    [{ title: 'What' }, { title: 'Rows', right: true }],
    Object.entries(counts).map(([name, rows]) => [name, formatNumber(rows, 0)]),
  );
