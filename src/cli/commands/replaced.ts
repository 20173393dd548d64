import { Command } from 'commander';
import type { HowFitted } from '../../app/index.ts';
import { problem } from '../../errors/index.ts';
import { readConfig, serviceClient } from '../config-file.ts';
import type { CommandTools } from '../program.ts';
import { usageTable } from '../render.ts';
import { momentOf, partCalled } from '../words.ts';

type Options = {
  readonly at?: string;
  readonly note?: string;
  readonly pieces?: string;
  readonly which?: string;
  readonly with?: string;
  readonly asNew?: boolean;
  readonly worn?: boolean;
};

export function replacedCommand({ out, globals }: CommandTools): Command {
  return new Command('replaced')
    .description('a part was replaced or serviced: its count starts anew, the old life is kept')
    .argument('<part>', 'its id, as `usage` and `due` show it')
    .option('--at <time>', 'when, if not now: "2026-11-20" or "2026-11-20 14:30", in the time of the tank')
    .option('--note <text>', 'kept with the record')
    .option('--pieces <count>', 'only so many of a set, the oldest: the set stays as old as its oldest piece')
    .option('--which <places>', 'only those of a set, by their places, as in 1,3')
    .option('--with <spare>', 'the rotable spare that went in; it goes on from what it had')
    .option('--as-new', 'that spare is new or was overhauled and begins at zero')
    .option('--worn', 'what came out was worn out, not just due: `limits` learns from it')
    .addHelpText('after', '\nA mistake is taken back with `slackwater undo`.')
    .action(async (id: string, options: Options) => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const zone = loaded.config.tank.timeZone;
      const part = partCalled(loaded, id).id;
      const when = options.at === undefined ? undefined : momentOf(loaded, '--at', options.at, 'replaced');
      const how = howOf(options);
      const client = await serviceClient(loaded, as);
      const usage = await client.fitted(part, { ...how, ...(when === undefined ? {} : { at: when }) });
      if (json === true) return out.json(usage);
      out.line(`Recorded: ${usage.name}, number ${usage.life}.`);
      out.line(usageTable(out.look, [usage], zone));
    });
}

function howOf(options: Options): HowFitted {
  const { note, pieces, which, with: spare, asNew, worn } = options;
  if (asNew === true && spare === undefined)
    throw problem('SW-CLI-007', {
      option: '--as-new',
      found: 'no --with',
      expected: 'a spare beside it, as in --with wet-end-b; a part without spares always begins as new',
      command: 'replaced',
    });
  return {
    ...(note === undefined ? {} : { note }),
    ...(pieces === undefined ? {} : { pieces: wholes('--pieces', pieces)[0] ?? 0 }),
    ...(which === undefined ? {} : { places: wholes('--which', which) }),
    ...(spare === undefined ? {} : { with: spare }),
    ...(asNew === undefined ? {} : { asNew }),
    ...(worn === undefined ? {} : { worn }),
  };
}

function wholes(option: string, text: string): readonly number[] {
  const parts = text.split(',').map((one) => one.trim());
  if (parts.every((one) => /^[1-9]\d{0,2}$/.test(one)) && (option === '--which' || parts.length === 1))
    return parts.map(Number);
  const expected = option === '--which' ? 'places, as in 1,3' : 'a whole number, as in 2';
  throw problem('SW-CLI-007', { option, found: text, expected, command: 'replaced' });
}
