import { Command, CommanderError } from 'commander';
import { describe, problem, SlackwaterError } from '../errors/index.ts';
import { acclimationCommand } from './commands/acclimation.ts';
import { alarmsCommand } from './commands/alarms.ts';
import { auditCommand } from './commands/audit.ts';
import { cardCommand } from './commands/card.ts';
import { checkCommand } from './commands/check.ts';
import { conditionCommand } from './commands/condition.ts';
import { dashboardCommand } from './commands/dashboard.ts';
import { demoCommand } from './commands/demo.ts';
import { dueCommand } from './commands/due.ts';
import { guardCommand } from './commands/guard.ts';
import { limitsCommand } from './commands/limits.ts';
import { answerCommand, questionsCommand } from './commands/questions.ts';
import { readingCommand } from './commands/reading.ts';
import { recountCommand } from './commands/recount.ts';
import { rehearseCommand } from './commands/rehearse.ts';
import { replacedCommand } from './commands/replaced.ts';
import { resetsCommand } from './commands/resets.ts';
import { seedCommand } from './commands/seed.ts';
import { sessionCommand } from './commands/session.ts';
import { sourceCommand } from './commands/source.ts';
import { startCommand } from './commands/start.ts';
import { statusCommand } from './commands/status.ts';
import { backupCommand, exportCommand, importCommand, restoreCommand } from './commands/store.ts';
import { undoCommand } from './commands/undo.ts';
import { usageCommand } from './commands/usage.ts';
import { waterCommand } from './commands/water.ts';
import { DEFAULT_FILE } from './config-file.ts';
import { mistake } from './mistakes.ts';
import { createOutput, type Output, type Stream } from './output.ts';
import { StopAsked } from './stop.ts';
import { programVersion } from './version.ts';

/** Options every command understands. */
export type Globals = { readonly config: string; readonly as?: string; readonly json?: boolean };

export type CommandTools = {
  readonly out: Output;
  globals(): Globals;
  /** For an answer that is no failure of the command and yet a "no". */
  exitWith(code: number): void;
  /** How the reader of this output would call another command on the same service. */
  hint(words: string): string;
};

export const EXIT = {
  ok: 0,
  /** A mistake, or a refusal with its reason. */
  refused: 1,
  /** A fault of the program. */
  fault: 70,
  /** Ended by an interrupt before its work was done. */
  interrupted: 130,
} as const;

const LEAST_NODE = 24;

const DESCRIPTION =
  'Counts the wear of a reef tank, says what is due and why, and takes equipment out of service in a proven order.';
const AFTER_HELP = `
Each command has its own --help. Most ask the service that start runs; demo, start, check, rehearse, water, audit,
card, alarms, backup, restore, export and import do without.
Exit codes: 0 done, 1 a mistake or a refusal with its reason, 70 a fault of the program.`;

export function buildProgram(out: Output, exitWith: (code: number) => void = () => {}): Command {
  const program = new Command('slackwater')
    .description(DESCRIPTION)
    .version(programVersion(), '-v, --version')
    .option('-c, --config <file>', 'configuration', process.env['SLACKWATER_CONFIG'] ?? DEFAULT_FILE)
    .option('--as <person>', 'whose credential to use; the first person of the configuration otherwise')
    .option('--json', 'print JSON instead of text')
    .addHelpText('after', AFTER_HELP);
  const globals = (): Globals => program.opts<Globals>();
  const tools: CommandTools = { out, globals, exitWith, hint: (words) => hintFor(globals().config, words) };
  const commands = [
    demoCommand,
    startCommand,
    checkCommand,
    dueCommand,
    usageCommand,
    conditionCommand,
    rehearseCommand,
    waterCommand,
    sessionCommand,
    guardCommand,
    acclimationCommand,
    replacedCommand,
    undoCommand,
    seedCommand,
    limitsCommand,
    recountCommand,
    sourceCommand,
    readingCommand,
    questionsCommand,
    answerCommand,
    resetsCommand,
    statusCommand,
    dashboardCommand,
    auditCommand,
    cardCommand,
    alarmsCommand,
    backupCommand,
    restoreCommand,
    exportCommand,
    importCommand,
  ];
  for (const make of commands) program.addCommand(withGlobals(make(tools)));
  // Options of every command may stand after its name as well as before it.
  program.hook('preAction', (_self, action) => {
    for (let at: Command | null = action; at?.parent != null; at = at.parent)
      for (const key of ['json', 'config', 'as'] as const)
        if (at.getOptionValueSource(key) === 'cli') program.setOptionValue(key, at.opts()[key]);
  });
  return quiet(program, out);
}

function withGlobals(command: Command): Command {
  for (const sub of command.commands) withGlobals(sub);
  return command
    .option('--json', 'print JSON instead of text')
    .option('-c, --config <file>', 'configuration')
    .option('--as <person>', 'whose credential to use');
}

/** Mistakes are thrown, in our own words, instead of printed by the parser. */
function quiet(command: Command, out: Output): Command {
  for (const sub of command.commands) quiet(sub, out);
  const width = (): number => out.look.width;
  return command
    .allowExcessArguments(false)
    .showSuggestionAfterError(false)
    .configureOutput({
      writeOut: (text) => out.line(text.trimEnd()),
      writeErr: (text) => out.note(text.trimEnd()),
      outputError: () => {},
      getOutHelpWidth: width,
      getErrHelpWidth: width,
    })
    .exitOverride((error) => {
      throw mistake(command, error) ?? error;
    });
}

/** As the reader calls it: through npm in a copy of the repository, or by its name. */
function hintFor(config: string, words: string): string {
  const name = process.env['npm_lifecycle_event'] === undefined ? 'slackwater' : 'npm run -s slackwater --';
  return `${name}${config === DEFAULT_FILE ? '' : ` --config ${config}`} ${words}`;
}

/** Runs one command; gives the exit code. A person's mistake costs a sentence, never a stack trace. */
export async function main(
  argv: readonly string[],
  streams: { readonly out?: Stream; readonly err?: Stream } = {},
): Promise<number> {
  const out = createOutput(streams.out, streams.err);
  let code: number = EXIT.ok;
  try {
    const node = Number(process.versions.node.split('.')[0]);
    if (node < LEAST_NODE) throw problem('SW-CLI-012', { found: process.versions.node, needed: String(LEAST_NODE) });
    const program = buildProgram(out, (given) => {
      code = given;
    });
    await program.parseAsync(argv, { from: 'user' });
    return code;
  } catch (error) {
    out.progressDone();
    if (error instanceof CommanderError) return error.exitCode;
    if (error instanceof StopAsked) return EXIT.interrupted;
    if (argv.includes('--json') && error instanceof SlackwaterError) out.json({ error });
    out.note(describe(error));
    return error instanceof SlackwaterError ? EXIT.refused : EXIT.fault;
  }
}
