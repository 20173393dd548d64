// Time zones made for the run, so that midnight and clock changes come when the script wants them. The hub's Python reads
// zones from the folder named in PYTHONTZPATH before its own.
import { mkdirSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';

type Change = { readonly atS: number; readonly offsetS: number; readonly isDst: boolean };

const DAY_S = 86_400;

/** Offset at which `atS` is midnight, within half a day of UTC. */
function offsetOfMidnight(atS: number): number {
  const ahead = (DAY_S - (atS % DAY_S)) % DAY_S;
  return ahead > DAY_S / 2 ? ahead - DAY_S : ahead;
}

/** A zone file of the second version: https://www.rfc-editor.org/rfc/rfc8536 */
function zoneFile(offsetS: number, changes: readonly Change[]): Buffer {
  const types = [{ offsetS, isDst: false }, ...changes];
  const names = Buffer.from('TNK\0', 'ascii');
  const head = Buffer.alloc(44);
  head.write('TZif2', 'ascii');
  for (const [index, count] of [0, 0, 0, changes.length, types.length, names.length].entries()) {
    head.writeUInt32BE(count, 20 + index * 4);
  }
  const body = (wide: boolean): Buffer => {
    const times = Buffer.alloc(changes.length * (wide ? 8 : 4));
    for (const [index, { atS }] of changes.entries()) {
      if (wide) times.writeBigInt64BE(BigInt(atS), index * 8);
      else times.writeInt32BE(atS, index * 4);
    }
    const which = Buffer.from(changes.map((_, index) => index + 1));
    const infos = Buffer.alloc(types.length * 6);
    for (const [index, type] of types.entries()) {
      infos.writeInt32BE(type.offsetS, index * 6);
      infos.writeUInt8(type.isDst ? 1 : 0, index * 6 + 4);
    }
    return Buffer.concat([times, which, infos, names]);
  };
  return Buffer.concat([head, body(false), head, body(true), Buffer.from('\n\n', 'ascii')]);
}

/** By how much the clock changes: one hour of the tank's. */
export const CLOCK_CHANGE_S = 60;

export type Night = 'plain' | 'clocks go forward' | 'clocks go back';

/**
 * Writes the zone `name` in which the night's midnight is at `midnightS`. Clocks that go forward do so at midnight, which
 * is thereby left out; those that go back do so one clock change after it, to midnight, which comes again.
 */
export function writeNight(folder: string, name: string, night: Night, midnightS: number): void {
  const offset = offsetOfMidnight(midnightS);
  const changes: Record<Night, readonly Change[]> = {
    plain: [],
    'clocks go forward': [{ atS: midnightS, offsetS: offset + CLOCK_CHANGE_S, isDst: true }],
    'clocks go back': [{ atS: midnightS + CLOCK_CHANGE_S, offsetS: offset - CLOCK_CHANGE_S, isDst: false }],
  };
  const file = join(folder, name);
  mkdirSync(dirname(file), { recursive: true });
  writeFileSync(file, zoneFile(offset, changes[night]));
}
