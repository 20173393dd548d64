import { Command } from 'commander';
import { problem } from '../../errors/index.ts';
import { realSystem } from '../../io/system/index.ts';
import type { Tank } from '../../model/index.ts';
import { buildPlan, rehearse, type TankFacts } from '../../procedure/index.ts';
import { type InstantMs, localDate, localTime, parseQuantity, type QuantityKind } from '../../units/index.ts';
import { readConfig } from '../config-file.ts';
import type { CommandTools } from '../program.ts';
import { rehearsalText } from '../rehearsal-text.ts';

type Options = {
  readonly at?: string;
  readonly lights?: string;
  readonly tank?: string;
  readonly room?: string;
  readonly change?: string;
  readonly batch?: string;
};

export function rehearseCommand({ out, globals }: CommandTools): Command {
  return new Command('rehearse')
    .description('a procedure on your tank, with times, levels and the rule behind each step; nothing is switched')
    .argument('<procedure>', 'id or title, with a choice behind it: heater-swap:heater-1, pump-pause+flow-left')
    .option('--at <time>', 'when it would begin, as in 10:30; long stops must then fit the light hours')
    .option('--lights <hours>', 'when the display is lit, as in 09:30-21:30; else as the configuration says')
    .option('--tank <temperature>', 'of the water, as in "25.5 °C"')
    .option('--room <temperature>', 'of the room, as in "19 °C"')
    .option('--change <volume>', 'of a water change, as in "45 L"')
    .option('--batch <temperature>', 'of the new water, as in "25 °C"')
    .action(async (procedure: string, options: Options) => {
      const { config, json } = globals();
      const loaded = await readConfig(config);
      const { rules } = loaded.config;
      const tank = lit(loaded.config.tank, options.lights);
      const at = options.at === undefined ? undefined : instantToday(tank, options.at);
      const plan = buildPlan(procedure, tank, rules, at === undefined ? {} : { at });
      const rehearsal = rehearse(plan, tank, rules, { ...told(options), ...(at === undefined ? {} : { at }) });
      return json === true
        ? out.json({ ...plan, rehearsal })
        : out.line(rehearsalText(out.look, plan, rehearsal, tank));
    });
}

const refused = (option: string, found: string, expected: string) =>
  problem('SW-CLI-007', { option, found, expected, command: 'rehearse' });

const CLOCK = /^([01]?\d|2[0-3]):([0-5]\d)$/;

function minuteOf(option: string, text: string, whole: string = text): number {
  const match = CLOCK.exec(text.trim());
  if (!match) throw refused(option, whole, option === '--at' ? 'a time such as 10:30' : 'hours such as 09:30-21:30');
  return Number(match[1]) * 60 + Number(match[2]);
}

function lit(tank: Tank, hours: string | undefined): Tank {
  if (hours === undefined) return tank;
  const [on = '', off = ''] = hours.split(/[-–]/);
  const lights = { onMinute: minuteOf('--lights', on, hours), offMinute: minuteOf('--lights', off, hours) };
  return { ...tank, lights };
}

function instantToday(tank: Tank, time: string): InstantMs {
  minuteOf('--at', time);
  const today = localDate(realSystem().clock.now(), tank.timeZone);
  return localTime(today, time.trim().padStart(5, '0'), tank.timeZone);
}

function told(options: Options): TankFacts {
  const number = (option: keyof Options, kind: QuantityKind, expected: string): number | undefined => {
    const text = options[option];
    if (text === undefined) return undefined;
    const parsed = parseQuantity(kind, text);
    if (!parsed.ok) throw refused(`--${option}`, text, expected);
    return parsed.value;
  };
  const tankC = number('tank', 'temperature', 'a temperature such as 25.5 °C');
  const roomC = number('room', 'temperature', 'a temperature such as 19 °C');
  const batchC = number('batch', 'temperature', 'a temperature such as 25 °C');
  const changeL = number('change', 'volume', 'a volume such as 45 L');
  return {
    ...(tankC === undefined ? {} : { tankC }),
    ...(roomC === undefined ? {} : { roomC }),
    ...(batchC === undefined ? {} : { batchC }),
    ...(changeL === undefined ? {} : { changeL }),
  };
}
