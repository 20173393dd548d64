import { Command } from 'commander';
import { didYouMean, listWords, problem } from '../../errors/index.ts';
import { kindDef, parseNumber, parseQuantity, type QuantityKind, splitQuantity } from '../../units/index.ts';
import { readConfig, serviceClient } from '../config-file.ts';
import type { CommandTools } from '../program.ts';

/** What a keeper measures by hand. Without a kind of quantity the number has the unit written here. */
const READINGS: Readonly<Record<string, { readonly kind: QuantityKind } | { readonly unit: string }>> = {
  salinity: { kind: 'salinity' },
  temperature: { kind: 'temperature' },
  alkalinity: { unit: 'dKH' },
  nitrate: { kind: 'dissolved' },
  phosphate: { kind: 'dissolved' },
  'water-removed': { kind: 'volume' },
  'water-added': { kind: 'volume' },
  harvest: { kind: 'mass' },
};

export function readingCommand({ out, globals }: CommandTools): Command {
  return new Command('reading')
    .description('write down what you measured by hand')
    .argument('<what>', Object.keys(READINGS).join(', '))
    .argument('<value>', 'with its unit, as in "35 ppt" or "45 L"')
    .action(async (what: string, text: string) => {
      const { config, as, json } = globals();
      const { value, unit } = readValue(what, text);
      await (await serviceClient(await readConfig(config), as)).reading(what, value, unit);
      if (json === true) return out.json({ what, value, unit });
      out.line(`Written down: ${what} ${value} ${unit}.`);
    });
}

function readValue(what: string, text: string): { readonly value: number; readonly unit: string } {
  const known = Object.keys(READINGS);
  const reading = READINGS[what];
  if (reading === undefined || !Object.hasOwn(READINGS, what))
    throw problem('SW-CLI-011', {
      found: what,
      known: listWords(known),
      hint: didYouMean(what, known, 'Take one of these.'),
    });
  if ('unit' in reading) {
    const parts = splitQuantity(text);
    const value = parseNumber(parts?.number ?? text);
    const written = parts?.unit ?? '';
    if (value === null || (written !== '' && written.toLowerCase() !== reading.unit.toLowerCase()))
      throw problem('SW-CLI-013', {
        found: text,
        why: `expected a number of ${reading.unit}`,
        example: `"8.2 ${reading.unit}"`,
      });
    return { value, unit: reading.unit };
  }
  const parsed = parseQuantity(reading.kind, text);
  const inside = kindDef(reading.kind).units[0].symbol;
  if (!parsed.ok)
    throw problem('SW-CLI-013', { found: text, why: `expected ${parsed.expected}`, example: parsed.example });
  return { value: parsed.value, unit: inside };
}
