import type { Command, CommanderError } from 'commander';
import { didYouMean, listWords, problem, type SlackwaterError } from '../errors/index.ts';

/** A mistake on the command line, in the words of the catalogue; null for what is none, such as `--help`. */
export function mistake(command: Command, error: CommanderError): SlackwaterError | null {
  const quoted = /'([^']*)'/.exec(error.message)?.[1] ?? '';
  const path = pathOf(command);
  switch (error.code) {
    case 'commander.unknownCommand':
      return unknownCommand(command, quoted);
    case 'commander.excessArguments': {
      const extra = command.args[command.registeredArguments.length] ?? '';
      // A command with commands of its own: the word was meant to be one of them.
      return command.commands.length > 0
        ? unknownCommand(command, extra)
        : problem('SW-CLI-016', { found: extra, path });
    }
    case 'commander.missingArgument':
      return problem('SW-CLI-008', { argument: quoted, command: path });
    case 'commander.unknownOption': {
      const known = optionsOf(command);
      const hint = didYouMean(quoted, known, `See \`slackwater${path === '' ? '' : ` ${path}`} --help\`.`);
      return problem('SW-CLI-015', { found: quoted, known: known.join(', '), hint });
    }
    case 'commander.missingMandatoryOptionValue':
      return problem('SW-CLI-007', { option: quoted, found: '', expected: 'it given, with a value', command: path });
    case 'commander.optionMissingArgument':
      return problem('SW-CLI-007', { option: quoted, found: '', expected: 'a value behind it', command: path });
    default:
      return null;
  }
}

function unknownCommand(command: Command, found: string): SlackwaterError {
  const known = command.commands.map((one) => one.name());
  const path = pathOf(command);
  const all = `See \`slackwater${path === '' ? '' : ` ${path}`} --help\`.`;
  return problem('SW-CLI-001', { found, known: listWords(known, known.length), hint: didYouMean(found, known, all) });
}

/** "session start" of `slackwater session start`. */
function pathOf(command: Command): string {
  const names: string[] = [];
  for (let at: Command | null = command; at?.parent != null; at = at.parent) names.unshift(at.name());
  return names.join(' ');
}

function optionsOf(command: Command): string[] {
  const own = command.options.map((option) => option.long ?? option.short ?? '');
  return [...own, '--help'];
}
