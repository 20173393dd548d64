import { Command } from 'commander';
import { problem } from '../../errors/index.ts';
import type { ApiClient } from '../../web/index.ts';
import { readConfig, serviceClient } from '../config-file.ts';
import type { CommandTools } from '../program.ts';
import { planText, sessionText } from '../render.ts';

export function sessionCommand(tools: CommandTools): Command {
  const { out } = tools;
  const command = new Command('session').description('start, confirm, abort or show a session');
  command
    .command('start')
    .description('show the plan; nothing is switched before you confirm it')
    .argument('<procedure>')
    .action(async (procedure: string) => {
      const client = await clientOf(tools);
      const plan = await client.rehearse(procedure);
      const view = await client.startSession(procedure);
      if (tools.globals().json === true) return out.json({ plan, session: view });
      out.line(planText(plan));
      out.line('\nNothing has been switched. Read the plan, then: slackwater session confirm');
    });
  command
    .command('confirm')
    .description('answer what is asked now')
    .option('--step <id>', 'only if this step is the one asked about')
    .action(async ({ step }: { step?: string }) => {
      const client = await clientOf(tools);
      const open = await client.session();
      if (open === null) throw problem('SW-SES-011');
      if (open.prompt === null) throw problem('SW-SES-013');
      if (step !== undefined && step !== open.prompt.step)
        throw problem('SW-SES-004', { found: step, expected: open.prompt.step });
      const answer = await client.confirm({ session: open.id, step: open.prompt.step, nonce: open.prompt.nonce });
      if (!answer.accepted) process.exitCode = 1;
      if (tools.globals().json === true) return out.json(answer);
      if (!answer.accepted) return out.line(`Not taken: ${answer.why}`);
      if (answer.session !== null) out.line(sessionText(answer.session));
    });
  command
    .command('abort')
    .description('end the session now; nothing is energised by it')
    .action(async () => {
      const view = await (await clientOf(tools)).abort();
      if (view === null) throw problem('SW-SES-011');
      return tools.globals().json === true ? out.json(view) : out.line(sessionText(view));
    });
  command
    .command('show', { isDefault: true })
    .description('the session now')
    .action(async () => {
      const view = await (await clientOf(tools)).session();
      if (tools.globals().json === true) return out.json(view);
      out.line(view === null ? 'There is no session.' : sessionText(view));
    });
  return command;
}

async function clientOf({ globals }: CommandTools): Promise<ApiClient> {
  const { config, as } = globals();
  return serviceClient(await readConfig(config), as);
}
