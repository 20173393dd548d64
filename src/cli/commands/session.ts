import { Command } from 'commander';
import type { SessionView } from '../../app/index.ts';
import { problem } from '../../errors/index.ts';
import { isSessionOver } from '../../publish/index.ts';
import type { ApiClient } from '../../web/index.ts';
import { readConfig, serviceClient } from '../config-file.ts';
import { type CommandTools, EXIT } from '../program.ts';
import { planText, sessionText } from '../session-text.ts';

export function sessionCommand(tools: CommandTools): Command {
  const show = showAction(tools);
  const command = new Command('session').description('start, confirm, abort or show a session').action(show);
  command
    .command('start')
    .description('show the plan; nothing is switched before you confirm it')
    .argument('<procedure>', 'as `rehearse` takes it, which shows its steps without a session')
    .action(startAction(tools));
  command
    .command('confirm')
    .description('answer what is asked now: read it with `session show` first')
    .option('--step <id>', 'only if this step is the one asked about')
    .option('--value <number>', 'what was read off, where the question asks for a value; in the unit it names')
    .addHelpText('after', '\nWithin 2 s of a question nothing is taken: read it, then answer.')
    .action(confirmAction(tools));
  command.command('abort').description('end the session now; nothing is energised by it').action(abortAction(tools));
  command
    .command('back')
    .description('say that something a session left out of service is back, where nothing reports it')
    .argument('<equipment>', 'as `status` names it')
    .action(backAction(tools));
  command.command('show').description('the session now (also `session` alone)').action(show);
  return command;
}

function startAction(tools: CommandTools) {
  return async (procedure: string): Promise<void> => {
    const { out } = tools;
    const client = await clientOf(tools);
    const plan = await client.rehearse(procedure);
    const view = await client.startSession(procedure);
    if (tools.globals().json === true) return out.json({ plan, session: view });
    out.line(planText(out.look, plan));
    out.line(
      `\nNothing has been switched. Read the plan, stand at the tank, then:\n  ${tools.hint('session confirm')}`,
    );
  };
}

function confirmAction(tools: CommandTools) {
  return async ({ step, value }: { step?: string; value?: string }): Promise<void> => {
    const typed = value === undefined ? undefined : numberOf(value);
    const { out } = tools;
    const client = await clientOf(tools);
    const open = await client.session();
    if (open === null) throw problem('SW-SES-011');
    if (open.prompt === null) throw problem('SW-SES-013');
    if (step !== undefined && step !== open.prompt.step)
      throw problem('SW-SES-004', { found: step, expected: open.prompt.step });
    const answer = await client.confirm({
      session: open.id,
      step: open.prompt.step,
      nonce: open.prompt.nonce,
      ...(typed === undefined ? {} : { value: typed }),
    });
    if (!answer.accepted) tools.exitWith(EXIT.refused);
    if (tools.globals().json === true) return out.json(answer);
    if (!answer.accepted) return out.line(`Not taken: ${answer.why}`);
    out.line(`Taken: ${open.prompt.text}`);
    if (answer.session !== null) out.line(`\n${tell(tools, answer.session)}`);
  };
}

/** A decimal comma is how half the keepers type it. */
function numberOf(text: string): number {
  const value = text.trim() === '' ? Number.NaN : Number(text.trim().replace(',', '.'));
  if (Number.isFinite(value)) return value;
  throw problem('SW-SES-017', { what: `a number; "${text}" is none` });
}

function backAction(tools: CommandTools) {
  return async (equipment: string): Promise<void> => {
    const client = await clientOf(tools);
    const view = await client.back(equipment);
    if (tools.globals().json === true) return tools.out.json(view);
    const left = view?.leftOut ?? [];
    const rest = left.map((one) => `${one.name} (${one.equipment})`).join(', ');
    tools.out.line(
      `Taken: ${equipment} is back. ${left.length === 0 ? 'Nothing else is left out.' : `Still out: ${rest}.`}`,
    );
  };
}

function abortAction(tools: CommandTools) {
  return async (): Promise<void> => {
    const client = await clientOf(tools);
    const before = await client.session();
    // One that is over stays on show; there is nothing left to abort in it.
    if (before === null || isSessionOver(before.status)) throw problem('SW-SES-011');
    const view = (await client.abort()) ?? before;
    if (tools.globals().json === true) return tools.out.json(view);
    tools.out.line(tell(tools, view));
  };
}

function showAction(tools: CommandTools) {
  return async (): Promise<void> => {
    const view = await (await clientOf(tools)).session();
    if (tools.globals().json === true) return tools.out.json(view);
    tools.out.line(view === null ? 'There is no session.' : tell(tools, view));
  };
}

const tell = ({ out, hint }: CommandTools, view: SessionView): string =>
  sessionText(out.look, view, hint('session confirm'));

async function clientOf({ globals }: CommandTools): Promise<ApiClient> {
  const { config, as } = globals();
  return serviceClient(await readConfig(config), as);
}
