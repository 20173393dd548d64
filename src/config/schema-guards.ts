import { z } from 'zod';
import { GUARD_KINDS } from '../model/index.ts';
import { duration, oneOf, quantity, text } from './leaves.ts';
import { HELP } from './meta.ts';

/** Standing protections: what they watch, and what they may switch off. */

const ids = (description: string, example: string) =>
  z
    .array(text('Its name in this file.', example))
    .min(1)
    .register(HELP, { description, expected: 'a list of names of this file', examples: [`[${example}]`] });

export const guard = z.strictObject({
  name: text('Name shown to people. Left out: the id.', 'Water where it must not be').optional(),
  kind: oneOf(
    GUARD_KINDS,
    'kind of guard',
    'What it watches for. `high-level`: a high float is wet, or the sump level is above `above` (K2). `top-off`: one run, or the runs of a day, too long (K3). `leak`: a leak sensor is wet (K29). `dry-heater`: heat with a low level, or watts without warming (K4). `barrel-dry`: heat or pumping in a mixing barrel that is low or not mixed (K26). `ro-litres`: too much product water within a day. `flow-while-off`: the litre meter goes on after the switch-off. `welded-relay`: watts go on after the switch-off (K18).',
  ),
  off: ids(
    'Equipment it may switch off, and nothing else. A kind that watches one device watches each of these by itself. It never switches on, and never stops a water mover.',
    'top-off',
  ),
  sensors: ids(
    'Sensors it looks at. Left out: all of the tank that fit its kind; a low sensor or a level below which heat is dangerous must be named.',
    'high-float',
  ).optional(),
  above: quantity('length', '`high-level` by a level sensor: more than this.', { above: 0 }, '31 cm').optional(),
  below: quantity('length', '`dry-heater` by a level sensor: less than this.', { above: 0 }, '15 cm').optional(),
  run: duration(
    'Longest run. `top-off`, left out: three times the usual run once ten were seen, five minutes before. `ro-litres`, left out: litres alone count.',
    { min: 5_000, max: 86_400_000 },
    '60 s',
  ).optional(),
  perDay: duration(
    '`top-off`: run time within 24 hours. Left out: twice the usual day once seven whole days were seen.',
    { min: 10_000, max: 43_200_000 },
    '12 min',
  ).optional(),
  litres: quantity(
    'volume',
    '`ro-litres`: product water within 24 hours. `flow-while-off`: water after the switch-off; left out, 0.3 L.',
    { above: 0, max: 5_000 },
    '60 L',
  ).optional(),
  after: duration(
    '`dry-heater`: watts so long without warming. Left out: 45 min.',
    { min: 1_200_000, max: 14_400_000 },
    '45 min',
  ).optional(),
  pump: text('`barrel-dry`: the pump that mixes. Left out: the mixing pump of the tank.', 'mixing-pump').optional(),
});
