import type { Bounds, Measure, PartId } from '../model/index.ts';
import { amountText, boundedText } from '../remind/index.ts';
import type { InstantMs } from '../units/index.ts';
import { actorName } from './lives.ts';
import type {
  AcclimationChange,
  Answered,
  JournalEntry,
  JournalRow,
  PartUndone,
  PieceFitted,
  Recounted,
  Seeded,
  SpareFitted,
} from './types.ts';

/** A line of the service record: what was done, when, by whom. */
export type RecordLine = { readonly at: InstantMs; readonly who: string; readonly what: string };

/** Everything a person did, oldest first. Readings of plugs, ticks and reminders are the service's own and stay out. */
export const serviceRecord = (
  rows: readonly JournalRow[],
  partName: (part: PartId) => string = (part) => part,
): readonly RecordLine[] =>
  rows.flatMap(({ entry }) => {
    const line = lineOf(entry, partName);
    return line === null ? [] : [line];
  });

const lineOf = (entry: JournalEntry, partName: (part: PartId) => string): RecordLine | null => {
  switch (entry.kind) {
    case 'part-fitted': {
      const old = usageText(entry.usageAtRemoval);
      const note = entry.note === '' ? '' : `; ${entry.note}`;
      const what = `${partName(entry.part)} replaced or serviced, number ${entry.life} begins${old === '' ? '' : `; the one before had ${old}`}${wornText(entry)}${note}`;
      return { at: entry.fittedAt, who: entry.by, what };
    }
    case 'put-off':
      return { at: entry.at, who: entry.by, what: `${partName(entry.part)} put off` };
    case 'reading':
      return { at: entry.at, who: entry.by, what: `read ${entry.what}: ${entry.value} ${entry.unit}`.trimEnd() };
    case 'limit-set': {
      const [before, now] = [entry.before, entry.amount].map((amount) => amountText(amount, entry.measure));
      const what = `${partName(entry.part)}: limit ${before} before, ${now} now${entry.change === 'given-back' ? ' as configured' : `; ${entry.why}`}`;
      return { at: entry.at, who: entry.by, what };
    }
    case 'session-event':
      return sessionLine(entry);
    case 'piece-fitted':
    case 'spare-fitted':
    case 'part-undone':
    case 'seeded':
    case 'recounted':
    case 'answered':
      return lifeLine(entry, partName(entry.part));
    case 'guard': {
      const what = `guard ${entry.guard} ${entry.change === 'latched' ? 'latched' : 'was reset after'}: ${entry.text}`;
      return { at: entry.at, who: entry.by, what };
    }
    case 'after-watch':
      return entry.change === 'began' ? null : { at: entry.at, who: 'service', what: entry.text };
    case 'acclimation':
      return acclimationLine(entry);
    case 'reminder':
    case 'note':
      return null;
  }
};

function acclimationLine({ at, change, lamp, programme }: AcclimationChange): RecordLine | null {
  if (change === 'kept') return null;
  const { startedBy, why } = programme;
  return change === 'started'
    ? { at, who: startedBy, what: `light of the new lamps of ${lamp} shortened and lengthened day by day` }
    : { at, who: 'service', what: `light of ${lamp} as usual again: ${why}` };
}

const wornText = ({ worn }: { readonly worn?: true }): string => (worn === true ? '; found worn out' : '');

type LifeEntry = PieceFitted | SpareFitted | PartUndone | Seeded | Recounted | Answered;

const lifeLine = (entry: LifeEntry, name: string): RecordLine => {
  const who = entry.by;
  const ending = 'note' in entry && entry.note !== '' ? `; ${entry.note}` : '';
  switch (entry.kind) {
    case 'piece-fitted': {
      const gone = entry.removed.map(({ piece, usage }) => `${piece} had ${usageText(usage) || 'nothing counted'}`);
      const what = `${name}: ${gone.length} of the pieces replaced; ${gone.join('; ')}${wornText(entry)}${ending}`;
      return { at: entry.fittedAt, who, what };
    }
    case 'spare-fitted': {
      const brought = usageText(entry.carried);
      const old = usageText(entry.usageAtRemoval);
      const out = entry.removed === null || old === '' ? '' : `; ${entry.removed} had ${old}`;
      const what = `${name}: ${entry.spare} is in, ${brought === '' ? 'as new' : `with ${brought}`}${out}${wornText(entry)}${ending}`;
      return { at: entry.fittedAt, who, what };
    }
    case 'part-undone':
      return { at: entry.at, who, what: `${name}: the last entry was taken back` };
    case 'seeded': {
      const used = usageText(entry.carried);
      const day = new Date(entry.fittedAt).toISOString().slice(0, 10);
      return { at: entry.at, who, what: `${name}: fitted ${day}${used === '' ? '' : `, ${used} on it`}${ending}` };
    }
    case 'answered': {
      const amount = amountText(entry.amount, entry.measure);
      const what = `${name}: ${amount} of doubt ${entry.choice === 'yes' ? 'did pass' : 'did not pass'}`;
      return { at: entry.at, who, what };
    }
    case 'recounted': {
      const [old, now] = [entry.old, entry.now].map((amount) => boundedText(amount, entry.measure));
      return {
        at: entry.at,
        who,
        what: `${name}: counted again above ${entry.thresholdW} W: ${old} before, ${now} now`,
      };
    }
  }
};

const usageText = (usage: Readonly<Partial<Record<Measure, Bounds>>>): string =>
  Object.entries(usage)
    .map(([measure, bounds]) => boundedText(bounds, measure as Measure))
    .join(', ');

const sessionLine = ({ event, session }: Extract<JournalEntry, { kind: 'session-event' }>): RecordLine | null => {
  const { at } = event;
  if (event.kind === 'started')
    return { at, who: actorName(event.actor), what: `started ${event.plan.title} (session ${session})` };
  if (event.kind === 'abort') return { at, who: actorName(event.actor), what: `aborted session ${session}` };
  if (event.kind === 'confirmed' || event.kind === 'resume') {
    const { actor, step } = event.confirmation;
    return { at, who: actorName(actor), what: `${event.kind === 'resume' ? 'resumed at' : 'confirmed'} ${step}` };
  }
  return null;
};
