import type { Equipment, GuardDef, Tank } from '../model/index.ts';
import { CAUTIONS, cautionTexts, ROLES, type RuleOverrides, ruleSetting } from '../rules/index.ts';
import { formatNumber, formatSpan } from '../units/index.ts';

/** A card for the cabinet door: what to do by hand when nothing of this runs any more. Written for somebody in a hurry. */

export type CardLine = {
  readonly text: string;
  /** Where its plug is; empty where nobody has told. */
  readonly place: string;
  readonly note: string;
};

export type CardSection = {
  readonly title: string;
  readonly intro: string;
  /** In this order, one after the other. */
  readonly ordered: boolean;
  readonly lines: readonly CardLine[];
};

export type EmergencyCard = {
  readonly title: string;
  readonly tank: string;
  readonly facts: readonly string[];
  readonly cautions: readonly string[];
  readonly sections: readonly CardSection[];
  /** Blank lines to be filled in by hand. */
  readonly blanks: readonly string[];
};

/** The rest of the cautions belongs to jobs; these are for the moment water or power goes wrong. Local code comes first. */
const ON_THE_CARD = ['local-code', 'people-first', 'shock', 'not-isolation', 'rcd', 'lifting', 'generators'];

export function emergencyCard(
  tank: Tank,
  rules: RuleOverrides,
  deputies: Readonly<Record<string, string>>,
  guards: readonly GuardDef[],
): EmergencyCard {
  const known = CAUTIONS.map(({ id }) => id).filter((id) => ON_THE_CARD.includes(id));
  return {
    title: 'Emergency card',
    tank: tank.name,
    facts: factsOf(tank, rules),
    cautions: cautionTexts(known),
    sections: [
      waterSection(tank),
      runningSection(tank, rules),
      offSection(tank),
      onSection(tank, rules),
      neverSection(tank),
      guardSection(tank, guards),
      peopleSection(tank, deputies),
    ].filter(({ lines, intro }) => lines.length > 0 || intro !== ''),
    blanks: [
      'Breaker board and earth-leakage switch',
      'Water shut-off',
      'Call first',
      'Call next',
      'Veterinary or shop',
    ],
  };
}

function factsOf({ volumeL, sump }: Tank, rules: RuleOverrides): string[] {
  const litres = (value: number): string => `${formatNumber(value, 0)} L`;
  const facts = [`Water in all: ${litres(volumeL)}.`];
  if (sump === undefined) return facts;
  facts.push(
    `Sump: usual level ${formatNumber(sump.normalLevelCm, 1)} cm, overflows at ${formatNumber(sump.rimLevelCm, 1)} cm.`,
  );
  const room = (sump.rimLevelCm - sump.normalLevelCm) * sump.litresPerCm;
  if (sump.drainDownL === undefined)
    return [...facts, 'What comes down when the return stops was not measured yet: watch the sump if it stops.'];
  const fits = room >= sump.drainDownL * ruleSetting(rules, 'K10', 'factor');
  const says = fits ? 'it fits' : 'it may NOT fit: keep the return running';
  facts.push(`When the return stops ${litres(sump.drainDownL)} come down; room for ${litres(room)}: ${says}.`);
  return facts;
}

const line = (one: Equipment, note = ''): CardLine => ({ text: one.name, place: one.place ?? '', note });
const plain = (text: string): CardLine => ({ text, place: '', note: '' });
const byStop = (tank: Tank): readonly Equipment[] =>
  tank.equipment.toSorted((a, b) => ROLES[a.role].stopRank - ROLES[b.role].stopRank);
const byStart = (tank: Tank): readonly Equipment[] =>
  tank.equipment.toSorted((a, b) => ROLES[a.role].startRank - ROLES[b.role].startRank);

function waterSection(tank: Tank): CardSection {
  const adders = byStop(tank).filter(({ role }) => ROLES[role].adder);
  const ro = adders.some(({ role }) => role === 'ro-unit') ? [plain('Close the hand valve of the water supply.')] : [];
  return {
    title: 'Water where it must not be',
    intro:
      'From a dry place. If plugs or strips stand near the water, cut them at the breaker board first; do not reach for them.',
    ordered: true,
    lines: [
      ...adders.map((one) => line(one, 'off: it adds water')),
      ...ro,
      plain('Leave the return on for now: its stop sends more water down. Watch the levels for one to two minutes.'),
      plain('Sump rising or high: the return stays on, skimmer off, bail the sump.'),
      plain('Sump falling, display not: the leak is on the pressure side. Return off, only if the sump has room.'),
      plain('Display falling with the return off: it leaks itself. Save animals and water.'),
      plain('Heater in a falling sump: off, and do not lift it out hot.'),
    ],
  };
}

/** K16 and the clock of each role. */
function runningSection(tank: Tank, rules: RuleOverrides): CardSection {
  const movers = byStart(tank).filter(({ role }) => ROLES[role].waterMover);
  const span = (setting: 'warnMs' | 'alarmMs' | 'hardMs'): string => formatSpan(ruleSetting(rules, 'K16', setting));
  const kept = tank.equipment.filter(({ role }) => ROLES[role].lifeSupport && !ROLES[role].waterMover);
  return {
    title: 'Keep running',
    intro:
      movers.length === 0
        ? ''
        : `At least one of these must move the water. None: act after ${span('warnMs')}, it is serious after ${span('alarmMs')}, and never longer than ${span('hardMs')}; half of that at night or with many animals.`,
    ordered: false,
    lines: [...movers.map((one) => line(one)), ...kept.map((one) => line(one, offClock(one)))],
  };
}

function offClock({ role }: Equipment): string {
  const { maxOffMs } = ROLES[role];
  return maxOffMs === null ? '' : `may be off ${formatSpan(maxOffMs)}`;
}

function offSection(tank: Tank): CardSection {
  const stoppable = byStop(tank).filter(({ role }) => !ROLES[role].neverStopped);
  return {
    title: 'Off by hand, in this order',
    intro: 'Only what has to be off. The last water mover stays on. Then pull the plug of whatever you touch.',
    ordered: true,
    lines: stoppable.map((one) => {
      const mover = ROLES[one.role].waterMover ? 'one water mover stays on' : '';
      return line(one, [offClock(one), mover].filter((text) => text !== '').join('; '));
    }),
  };
}

function onSection(tank: Tank, rules: RuleOverrides): CardSection {
  return {
    title: 'On again, in this order',
    intro: 'One at a time. Nothing that somebody holds unplugged.',
    ordered: true,
    lines: byStart(tank).map((one) => {
      const { startWait, startNeedsSteady, startNeedsMark, needsFlow } = ROLES[one.role];
      const wait =
        startWait === undefined
          ? ''
          : `${formatSpan(ruleSetting(rules, startWait.rule, startWait.setting))} after the water flows`;
      const notes = [
        wait === '' && needsFlow ? 'only with flow' : wait,
        startNeedsMark ? 'only with the sump at its usual level' : startNeedsSteady ? 'only with a steady level' : '',
      ];
      return line(one, notes.filter((text) => text !== '').join('; '));
    }),
  };
}

function neverSection(tank: Tank): CardSection {
  const hazards = byStop(tank).flatMap((one) => {
    const { heats, adder, needsFlow, hazardStarted } = ROLES[one.role];
    return heats || adder || needsFlow ? [line(one, hazardStarted)] : [];
  });
  const same = Map.groupBy(hazards, ({ note }) => note);
  return {
    title: 'Never switch on',
    intro: 'A plug somebody has pulled, whoever asks. A heater out of the water. Anything wet.',
    ordered: false,
    lines: [...same].map(([note, lines]) => ({ text: lines.map(({ text }) => text).join(', '), place: '', note })),
  };
}

function guardSection(tank: Tank, guards: readonly GuardDef[]): CardSection {
  const names = (ids: readonly string[]): string =>
    ids.map((id) => tank.equipment.find((one) => one.id === id)?.name ?? id).join(', ');
  return {
    title: 'What may be off by itself',
    intro: guards.length === 0 ? '' : 'A guard may have switched these off. Find out why before they go on again.',
    ordered: false,
    lines: guards.map(({ name, off }) => ({ text: name, place: '', note: names(off) })),
  };
}

function peopleSection(tank: Tank, deputies: Readonly<Record<string, string>>): CardSection {
  return {
    title: 'Who knows the tank',
    intro: '',
    ordered: false,
    lines: tank.people.map(({ name }) => {
      const deputy = deputies[name];
      return {
        text: `${name}: ______________________`,
        place: '',
        note: deputy === undefined ? '' : `deputy ${deputy}`,
      };
    }),
  };
}
