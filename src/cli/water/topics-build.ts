import { problem } from '../../errors/index.ts';
import { findUnit, parseNumber, parseQuantity, splitQuantity } from '../../units/index.ts';
import {
  awgAreaMm2,
  connectorLoad,
  DRAIN_SOURCE,
  drainDown,
  headRoom,
  LEAD_SOURCE,
  leadDrop,
  type Wire,
} from '../../water/index.ts';
import { PER_CENT, shown } from './amounts.ts';
import type { Given, Result, Shown, Topic } from './types.ts';

function drain(given: Given): Result {
  const drained = drainDown({
    displayLPerCm: given.quantity('display'),
    filmCm: given.quantity('film'),
    overflowBoxL: given.quantity('box'),
    pipesL: given.quantity('pipes'),
    siphonCm: given.quantity('siphon'),
    outletCm: given.quantity('outlet'),
  });
  const also: Record<string, Shown> = {
    'with the siphon-break hole blocked': shown('volume', drained.blockedL, 1),
    'room it should have': shown('volume', drained.roomL, 1),
  };
  const notes: string[] = [];
  if (given.has('sump') || given.has('level') || given.has('rim')) {
    const room = headRoom(given.quantity('sump'), given.quantity('level'), given.quantity('rim'), drained);
    also['free room in the sump'] = shown('volume', room.freeL, 1);
    also['left after a normal stop'] = shown('volume', room.spareL, 1);
    also['sump rises to'] = shown('length', room.risesToCm, 1);
    if (!room.fitsNormal)
      notes.push('A normal stop does not fit with a fifth to spare: lower the level before the return stops.');
    if (!room.fitsBlocked)
      notes.push('With the siphon-break hole blocked the sump overflows: clean and look at the hole before each stop.');
  }
  return {
    what: 'Comes down when the return stops',
    answer: shown('volume', drained.normalL, 1),
    source: DRAIN_SOURCE,
    also,
    notes,
  };
}

/** "18 AWG", "AWG 18" or "0.75 mm²". */
function readWire(text: string): Wire {
  const turned = text.replace(/^\s*AWG\s*(\S+)\s*$/i, '$1 AWG');
  const parts = splitQuantity(turned);
  const size = parts === null ? null : parseNumber(parts.number);
  if (parts !== null && size !== null && /^(awg|ga|gauge)$/i.test(parts.unit)) return { awg: size };
  if (parts !== null && findUnit('wireArea', parts.unit) !== null) {
    const parsed = parseQuantity('wireArea', turned);
    if (parsed.ok) return { mm2: parsed.value };
  }
  throw problem('SW-WAT-001', {
    argument: '--wire',
    found: `"${text}"`,
    expected: 'a size of wire in AWG or mm²',
    example: '--wire "18 AWG"',
  });
}

function lead(given: Given): Result {
  const wire = readWire(given.text('wire'));
  const currentA = given.quantity('current');
  const drop = leadDrop({
    wire,
    lengthCm: given.quantity('length'),
    currentA,
    supplyV: given.quantity('supply'),
    conductorC: given.quantity('conductor'),
  });
  const also: Record<string, Shown> = {
    'of the supply': shown(PER_CENT, 100 * drop.share, 1),
    'left at the end': shown('voltage', drop.atEndV, 2),
    'heat in the lead': shown('power', drop.lossW, 2),
  };
  if ('awg' in wire) also['cross-section'] = shown('wireArea', awgAreaMm2(wire.awg), 2);
  const notes = [
    'Local electrical code and the instructions of the maker come first; this is about low-voltage leads.',
  ];
  if (drop.tooMuch) notes.unshift('More than 3 % is lost: use a thicker or shorter lead.');
  if (given.has('connector')) {
    const load = connectorLoad(currentA, given.quantity('connector'));
    also['connector, for hours on end'] = shown('current', load.continuousA, 2);
    if (load.tooMuch) notes.unshift('The connector carries more than eight tenths of its rating: it may overheat.');
  }
  return { what: 'Voltage lost', answer: shown('voltage', drop.dropV, 3), source: LEAD_SOURCE, also, notes };
}

export const BUILD_TOPICS: readonly Topic[] = [
  {
    name: 'drain',
    summary: 'what comes down when the return stops, and whether the sump takes it',
    options: [
      { name: 'display', takes: 'levelVolume', help: 'water in the display, for each centimetre', example: '7.5 L/cm' },
      { name: 'film', takes: 'length', help: 'water above the edge of the weir', example: '1.2 cm' },
      { name: 'box', takes: 'volume', help: 'what the overflow box gives', example: '3 L', fallback: '0 L' },
      { name: 'pipes', takes: 'volume', help: 'what the return pipes hold', example: '1.5 L', fallback: '0 L' },
      { name: 'siphon', takes: 'length', help: 'siphon-break hole below the weir', example: '0.8 cm' },
      { name: 'outlet', takes: 'length', help: 'outlet below the weir', example: '6 cm' },
      { name: 'sump', takes: 'levelVolume', help: 'water in the sump, for each centimetre', example: '4.05 L/cm' },
      { name: 'level', takes: 'length', help: 'level of the sump while it runs', example: '22.8 cm' },
      { name: 'rim', takes: 'length', help: 'level at which it overflows', example: '40 cm' },
    ],
    range: 'Boxes with straight walls.',
    examples: [
      '--display "7.5 L/cm" --film "1.2 cm" --box "3 L" --pipes "1.5 L" --siphon "0.8 cm" --outlet "6 cm"',
      '--display "5 gal/in" --film "0.5 in" --box "0.8 gal" --pipes "0.4 gal" --siphon "0.3 in" --outlet "2.5 in" --sump "2.7 gal/in" --level "9 in" --rim "16 in" --us',
    ],
    run: drain,
  },
  {
    name: 'lead',
    summary: 'voltage lost along a low-voltage lead, and what its connector may carry',
    options: [
      { name: 'wire', takes: 'wire', help: 'size of each conductor', example: '18 AWG' },
      { name: 'length', takes: 'length', help: 'one way', example: '3 m' },
      { name: 'current', takes: 'current', help: 'current', example: '2.5 A' },
      { name: 'supply', takes: 'voltage', help: 'voltage of the supply', example: '24 V' },
      { name: 'connector', takes: 'current', help: 'what its plug is rated for', example: '5 A' },
      {
        name: 'conductor',
        takes: 'temperature',
        help: 'temperature of the copper',
        example: '40 °C',
        fallback: '20 °C',
      },
    ],
    range: 'Copper from 0 to 40 AWG or 0.5 to 10 mm² flexible, up to 100 A and 200 m.',
    examples: [
      '--wire "18 AWG" --length "10 ft" --current "2.5 A" --supply "24 V" --connector "5 A"',
      '--wire "0.75 mm²" --length "5 m" --current "2 A" --supply "12 V" --conductor "40 °C"',
    ],
    run: lead,
  },
];
