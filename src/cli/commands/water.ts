import { Command, Option } from 'commander';
import type { CommandTools } from '../program.ts';
import {
  expectedOf,
  givenFor,
  resultJson,
  resultText,
  runTopic,
  TOPICS,
  type Topic,
  type TopicOption,
} from '../water/index.ts';

/** Arithmetic of the water. It asks no service and changes nothing. */
export function waterCommand(tools: CommandTools): Command {
  const command = new Command('water').description('work out salinity, salt, water changes, RO, heat and the rest');
  for (const topic of TOPICS) command.addCommand(topicCommand(topic, tools));
  return command;
}

function topicCommand(topic: Topic, { out, globals }: CommandTools): Command {
  const command = new Command(topic.name).description(topic.summary);
  for (const option of topic.options) command.addOption(asOption(option));
  const example = topic.examples[0] ?? '';
  return command
    .addHelpText('after', `\nFor example:\n  slackwater water ${topic.name} ${example}`)
    .option('--us', 'answer in US units')
    .action((values: Readonly<Record<string, string | boolean | readonly string[] | undefined>>) => {
      const result = runTopic(topic, givenFor(topic, values));
      const us = values['us'] === true;
      if (globals().json === true) return out.json(resultJson(topic.name, result, us));
      out.line(resultText(out.look, result, us));
    });
}

/** Fallbacks are told and not set, so that a topic can see what was given. */
function asOption({ name, takes, help, fallback, many }: TopicOption): Option {
  if (takes === 'flag') return new Option(`--${name}`, help);
  const text = `${help}: ${expectedOf(takes)}${fallback === undefined ? '' : `; else ${fallback}`}`;
  const option = new Option(`--${name} <value>`, text);
  if (many === true)
    option.argParser((value: string, before: readonly string[] | undefined) => [...(before ?? []), value]);
  return option;
}
