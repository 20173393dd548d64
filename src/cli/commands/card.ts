import { Command } from 'commander';
import { realClock } from '../../io/system/index.ts';
import { cardHtml, cardText, emergencyCard } from '../../publish/index.ts';
import { formatInstant } from '../../units/index.ts';
import { readConfig } from '../config-file.ts';
import type { CommandTools } from '../program.ts';

export function cardCommand({ out, globals }: CommandTools): Command {
  return new Command('card')
    .description('a card to print for the cabinet door: what to do by hand when nothing of this runs any more')
    .option('--html', 'a page that prints on A5')
    .addHelpText('after', '\nMade from the configuration alone; print it anew when the tank changes.')
    .action(async ({ html = false }: { html?: boolean }) => {
      const { config, json } = globals();
      const { tank, rules, deputies, guards } = (await readConfig(config)).config;
      const card = emergencyCard(tank, rules, deputies, guards);
      if (json === true) return out.json(card);
      const printed = formatInstant(realClock.now(), tank.timeZone).slice(0, 10);
      out.line(html ? cardHtml(card, printed) : cardText(card, printed));
    });
}
