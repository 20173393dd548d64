import { Command } from 'commander';
import { formatInstant } from '../../units/index.ts';
import { readConfig, serviceClient } from '../config-file.ts';
import { hang } from '../layout.ts';
import type { CommandTools } from '../program.ts';

export function questionsCommand({ out, globals, hint }: CommandTools): Command {
  return new Command('questions')
    .description('what the service cannot decide alone and waits for a person about')
    .option('-a, --all', 'also those that were answered')
    .action(async ({ all = false }: { all?: boolean }) => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const zone = loaded.config.tank.timeZone;
      const questions = await (await serviceClient(loaded, as)).questions(all);
      if (json === true) return out.json(questions);
      if (questions.length === 0) return out.line('Nothing is asked.');
      for (const { id, askedAt, text, answer } of questions) {
        out.line(out.look.paint('bold', id));
        out.line(hang(out.look, `  ${formatInstant(askedAt, zone)}  `, text));
        if (answer !== null) out.line(`  ${formatInstant(answer.at, zone)}  ${answer.by} answered ${answer.choice}.`);
      }
      if (questions.some(({ answer }) => answer === null)) out.line(`\nAnswer with: ${hint('answer ID yes|no')}`);
    });
}

export function answerCommand({ out, globals }: CommandTools): Command {
  return new Command('answer')
    .description('answer what the service asked')
    .argument('<question>', 'its id, as `questions` shows it')
    .argument('<choice>', 'yes or no; the question says what either does')
    .action(async (id: string, choice: string) => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const question = await (await serviceClient(loaded, as)).answer(id, choice);
      if (json === true) return out.json(question);
      out.line(`Taken: ${choice} to ${question.id}.`);
    });
}
