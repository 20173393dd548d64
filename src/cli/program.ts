import { Command, CommanderError } from 'commander';
import { describe, problem, SlackwaterError } from '../errors/index.ts';
import { checkCommand } from './commands/check.ts';
import { dashboardCommand } from './commands/dashboard.ts';
import { demoCommand } from './commands/demo.ts';
import { dueCommand } from './commands/due.ts';
import { readingCommand } from './commands/reading.ts';
import { rehearseCommand } from './commands/rehearse.ts';
import { replacedCommand } from './commands/replaced.ts';
import { sessionCommand } from './commands/session.ts';
import { startCommand } from './commands/start.ts';
import { usageCommand } from './commands/usage.ts';
import { DEFAULT_FILE } from './config-file.ts';
import { createOutput, type Output } from './output.ts';

/** Options every command understands. */
export type Globals = { readonly config: string; readonly as?: string; readonly json?: boolean };

export type CommandTools = { readonly out: Output; globals(): Globals };

const LEAST_NODE = 24;

export function buildProgram(out: Output): Command {
  const program = new Command('slackwater')
    .description(
      'Counts the wear of a reef tank, says what is due and why, and takes equipment out of service in a proven order.',
    )
    .option('-c, --config <file>', 'configuration', process.env['SLACKWATER_CONFIG'] ?? DEFAULT_FILE)
    .option('--as <person>', 'whose credential to use; the first person of the configuration otherwise')
    .option('--json', 'print JSON instead of text')
    .showSuggestionAfterError()
    .exitOverride();
  const tools: CommandTools = { out, globals: () => program.opts<Globals>() };
  const commands = [
    demoCommand,
    startCommand,
    checkCommand,
    dueCommand,
    usageCommand,
    rehearseCommand,
    sessionCommand,
    replacedCommand,
    readingCommand,
    dashboardCommand,
  ];
  for (const make of commands) program.addCommand(withJson(make(tools)));
  return program;
}

/** `--json` and `--config` may stand after the command's name as well as before it. */
function withJson(command: Command): Command {
  for (const sub of command.commands) withJson(sub);
  if (command.commands.length === 0 && !command.options.some((option) => option.long === '--json'))
    command.option('--json', 'print JSON instead of text');
  return command
    .option('-c, --config <file>', 'configuration')
    .option('--as <person>', 'whose credential to use')
    .exitOverride()
    .hook('preAction', (_self, action) => {
      const given = action.opts<Partial<Globals>>();
      const top = rootOf(action);
      for (const key of ['json', 'config', 'as'] as const)
        if (given[key] !== undefined) top.setOptionValue(key, given[key]);
    });
}

function rootOf(command: Command): Command {
  return command.parent === null ? command : rootOf(command.parent);
}

/** Runs one command; gives the exit code. A person's mistake costs a sentence, never a stack trace. */
export async function main(argv: readonly string[]): Promise<number> {
  const out = createOutput();
  const wantsJson = argv.includes('--json');
  try {
    const node = Number(process.versions.node.split('.')[0]);
    if (node < LEAST_NODE) throw problem('SW-CLI-012', { found: process.versions.node, needed: String(LEAST_NODE) });
    await buildProgram(out).parseAsync(argv, { from: 'user' });
    return typeof process.exitCode === 'number' ? process.exitCode : 0;
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode;
    out.progressDone();
    if (wantsJson && error instanceof SlackwaterError) out.json({ error });
    process.stderr.write(`${describe(error)}\n`);
    return error instanceof SlackwaterError ? 1 : 70;
  }
}
