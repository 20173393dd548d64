import { Command } from 'commander';
import type { AcclimationView } from '../../app/index.ts';
import { readConfig, serviceClient } from '../config-file.ts';
import { type Cell, type Column, table } from '../layout.ts';
import type { CommandTools } from '../program.ts';

const COLUMNS: readonly Column[] = [
  { title: 'Lamp', wrap: true },
  { title: 'Usual hours', wrap: true },
  { title: 'Now', wrap: true },
];

const FROM_WORDS: Readonly<Record<string, string>> = {
  configuration: 'as configured',
  counted: 'as counted',
};

export function acclimationCommand(tools: CommandTools): Command {
  const command = new Command('acclimation').description(
    'light of new lamps: shortened at first, lengthened day by day, then given back to its driver',
  );
  command.addCommand(statusCommand(tools));
  command.addCommand(startCommand(tools));
  command.addCommand(stopCommand(tools));
  return command;
}

function statusCommand({ out, globals, hint }: CommandTools): Command {
  return new Command('status').description('each lamp, its usual hours, and whose its light is').action(async () => {
    const { config, as, json } = globals();
    const loaded = await readConfig(config);
    const lamps = await (await serviceClient(loaded, as)).acclimation();
    if (json === true) return out.json(lamps);
    if (lamps.length === 0) return out.line('No lamp over the display is configured.');
    out.line(table(out.look, COLUMNS, lamps.map(row)));
    if (lamps.some(({ cannot, programme }) => cannot === null && (programme === null || programme.status === 'over')))
      out.line(`\nAfter new lamps: ${hint('acclimation start LAMP')}`);
  });
}

function row({
  name,
  lamp,
  cannot,
  hours,
  hoursFrom,
  hoursUnknown,
  text,
  programme,
}: AcclimationView): readonly Cell[] {
  const known: Cell =
    hours === null
      ? { text: `not known: ${hoursUnknown}`, style: 'yellow' }
      : `${hours} ${FROM_WORDS[hoursFrom ?? ''] ?? ''}`;
  const now: Cell =
    programme?.trouble != null
      ? [{ text }, { text: programme.trouble, style: 'red' }]
      : cannot === null
        ? text
        : { text: `cannot be run: ${cannot}`, style: 'dim' };
  return [[{ text: name }, { text: lamp, style: 'dim' }], known, now];
}

function startCommand({ out, globals, hint }: CommandTools): Command {
  return new Command('start')
    .description('take a lamp over from its driver for the weeks after new lamps, in your name')
    .argument('<lamp>', 'its id, as `acclimation status` shows it')
    .option('--hours <from-to>', 'its usual hours, as in 09:30-18:30, where they are not known')
    .action(async (lamp: string, { hours }: { readonly hours?: string }) => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const view = await (await serviceClient(loaded, as)).startAcclimation(lamp, hours);
      if (json === true) return out.json(view);
      out.line(`${view.text}.`);
      out.line(`A session, a claim or a guard comes first. To end it: ${hint(`acclimation stop ${lamp}`)}`);
    });
}

function stopCommand({ out, globals }: CommandTools): Command {
  return new Command('stop')
    .description('give a lamp back to its driver now')
    .argument('<lamp>', 'its id, as `acclimation status` shows it')
    .action(async (lamp: string) => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const view = await (await serviceClient(loaded, as)).stopAcclimation(lamp);
      if (json === true) return out.json(view);
      out.line(`${view.text}.`);
    });
}
