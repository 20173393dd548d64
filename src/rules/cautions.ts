import { COMMON_PRACTICE, SOURCES } from './sources.ts';
import type { Caution, CautionPlace } from './types.ts';

const caution = (id: string, text: string, shownAt: readonly CautionPlace[], ...marks: string[]): Caution => ({
  id,
  text,
  shownAt,
  marks: marks.length > 0 ? marks : [COMMON_PRACTICE],
});

/** In the order they are shown: local code and licensed practice always first. */
export const CAUTIONS: readonly Caution[] = [
  caution(
    'local-code',
    'Your local electrical code, the maker’s instructions and licensed trades come before anything said here.',
    ['start', 'unplug', 'power'],
  ),
  caution(
    'people-first',
    'People come before animals: in doubt, cut the power at the breaker board and call for help.',
    ['start'],
  ),
  caution(
    'shock',
    'Salt water and mains kill: dry hands at every plug, and never reach for a wet one.',
    ['start', 'unplug', 'hands-on'],
    SOURCES.electricSafety,
  ),
  caution(
    'not-isolation',
    'Switched off is not isolated: pull the plug and keep it in your own sight while you work.',
    ['unplug', 'hands-on'],
    SOURCES.lockout,
  ),
  caution(
    'rcd',
    'Every tank circuit needs earth-leakage protection (30 mA or what your code asks), never bypassed, its test button pressed at the local interval, about every three months.',
    ['start', 'power'],
    SOURCES.rcd,
  ),
  caution(
    'drip-loops',
    'Each cord hangs below its socket before it rises to it, and sockets sit away from splash.',
    ['unplug', 'power'],
    SOURCES.electricSafety,
  ),
  caution(
    'socket-strips',
    'Keep within the rating of strips, adaptors and plugs, and spread pumps and heaters over more than one circuit.',
    ['power'],
    SOURCES.strips,
  ),
  caution(
    'part-under-load',
    'Part a low-voltage connector only when it is off and proved off, with dry hands and above the water: parted under load it arcs, burns its contacts and may damage its supply.',
    ['power'],
  ),
  caution(
    'uv-light',
    'Never look at or light a UV lamp outside its closed housing, not even briefly.',
    ['uv'],
    SOURCES.uvEyes,
  ),
  caution('hot-lamps', 'Lamps are hot: switch off and let them cool before touching.', ['lamp'], SOURCES.lampWaste),
  caution(
    'mercury',
    'Fluorescent and UV tubes hold a little mercury: if one breaks leave the room, air it for 15 minutes, and neither vacuum nor sweep.',
    ['lamp', 'uv'],
    SOURCES.lampWaste,
    SOURCES.brokenTube,
  ),
  caution(
    'disposal',
    'Tubes, batteries, electronics and chemicals go to the local collection, not into household waste where that is barred.',
    ['lamp', 'uv', 'chemicals', 'power'],
    SOURCES.lampWaste,
    SOURCES.brokenTube,
  ),
  caution(
    'lifting',
    'A litre weighs a kilogram: share the load or pump it; 23 kg is the limit for two good hands in the best case.',
    ['hands-on', 'water'],
    SOURCES.lifting,
  ),
  caution(
    'acids',
    'With acids wear gloves and goggles, pour acid into water, air the room, and keep them far from bleach: together they give off chlorine.',
    ['chemicals'],
    SOURCES.bleachAcid,
  ),
  caution(
    'lime',
    'Limewater powder burns eyes and lungs: keep it closed and labelled.',
    ['chemicals'],
    SOURCES.limewaterBurns,
  ),
  caution(
    'palytoxin',
    'Some button polyps carry a strong poison: never boil, scrape dry, brush hot or pressure-wash them; wear gloves and eye cover; metallic taste, fever or cough needs a doctor.',
    ['hands-on'],
    SOURCES.palytoxin,
  ),
  caution(
    'skin-infection',
    'Wear waterproof gloves over any cut, and tell a doctor about the tank if a lump appears weeks later.',
    ['hands-on'],
    SOURCES.skinInfection,
  ),
  caution('carbon-dioxide', 'Gas cylinders stand fixed and in moving air.', ['chemicals'], SOURCES.carbonDioxide),
  caution('water-damage', 'Know where the water shut-off is, and never leave RO production alone without a limit.', [
    'water',
  ]),
  caution(
    'ladders',
    'Use a proper step on level floor, never the cabinet; most falls happen stepping down or leaning sideways.',
    ['hands-on', 'lamp'],
    SOURCES.ladders,
  ),
  caution('bystanders', 'Children, pets and visitors: leave no bucket, acid bath, tool or open socket unattended.', [
    'start',
    'hands-on',
  ]),
  caution(
    'generators',
    'Generators run outdoors only, 6 m or more from openings, with carbon-monoxide alarms indoors.',
    ['power'],
    SOURCES.generators,
  ),
];

const BY_ID: ReadonlyMap<string, Caution> = new Map(CAUTIONS.map((each) => [each.id, each]));

/** Sentences of the named cautions, in the order they are to be shown. */
export const cautionTexts = (ids: readonly string[]): readonly string[] =>
  CAUTIONS.filter((each) => ids.includes(each.id)).map((each) => each.text);

/** Sentences of every caution shown at a place. */
export const cautionsAt = (place: CautionPlace): readonly string[] =>
  CAUTIONS.filter((each) => each.shownAt.includes(place)).map((each) => each.text);

export const isCaution = (id: string): boolean => BY_ID.has(id);
