import { Command } from 'commander';
import type { LimitView } from '../../app/index.ts';
import { problem } from '../../errors/index.ts';
import { MEASURES, type Measure } from '../../model/index.ts';
import { formatNumber } from '../../units/index.ts';
import { readConfig, serviceClient } from '../config-file.ts';
import { hang } from '../layout.ts';
import type { CommandTools } from '../program.ts';
import { partCalled } from '../words.ts';

export function limitsCommand(tools: CommandTools): Command {
  const { out, globals } = tools;
  const command = new Command('limits')
    .description('the limits of a part, and what its past lives say of them')
    .argument('<part>', 'its id, as `usage` and `due` show it')
    .action(async (id: string) => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const views = await (await serviceClient(loaded, as)).limits(partCalled(loaded, id).id);
      if (json === true) return out.json(views);
      show(tools, id, views);
    });
  command.addCommand(change(tools, 'accept', 'accepted', 'take the limit that is proposed'));
  command.addCommand(change(tools, 'reset', 'given-back', 'go back to the limit of the configuration'));
  return command;
}

function change(tools: CommandTools, word: string, how: 'accepted' | 'given-back', description: string): Command {
  const { out, globals } = tools;
  return new Command(word)
    .description(description)
    .argument('<part>', 'its id, as `usage` and `due` show it')
    .option('--measure <measure>', `which of its limits, where several are meant: ${MEASURES.join(', ')}`)
    .action(async (id: string, { measure }: { measure?: string }) => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const { id: part } = partCalled(loaded, id);
      const views = await (await serviceClient(loaded, as)).setLimit(part, how, measureOf(measure));
      if (json === true) return out.json(views);
      show(tools, id, views);
    });
}

function measureOf(text: string | undefined): Measure | undefined {
  const found = MEASURES.find((one) => one === text);
  if (text === undefined || found !== undefined) return found;
  const expected = `one of ${MEASURES.join(', ')}`;
  throw problem('SW-CLI-007', { option: '--measure', found: text, expected, command: 'limits' });
}

function show({ out, hint }: CommandTools, id: string, views: readonly LimitView[]): void {
  const [first] = views;
  out.line(first === undefined ? 'No limit is set.' : out.look.paint('bold', first.name));
  const several = views.filter((view) => view.proposed !== null).length > 1;
  for (const { measure, unit, inForce, configured, acceptedBy, proposed, lives, worn, why } of views) {
    const amount = (value: number): string => `${formatNumber(value, 0)} ${unit}`;
    const from = acceptedBy === null ? '' : `, accepted by ${acceptedBy}; the configuration says ${amount(configured)}`;
    out.line(hang(out.look, `  ${measure}: `, `${amount(inForce)}${from}.`));
    out.line(hang(out.look, '    ', `${lives} ${lives === 1 ? 'life' : 'lives'}, ${worn} found worn out; ${why}.`));
    const which = several ? ` --measure ${measure}` : '';
    if (proposed !== null)
      out.line(hang(out.look, '    ', `Proposed: ${amount(proposed)}. ${hint(`limits accept ${id}${which}`)}`));
  }
}
