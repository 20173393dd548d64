import type { Tank } from '../model/index.ts';
import type { Rehearsal, RehearsedStep, SessionPlan, Step } from '../procedure/index.ts';
import { type DurationMs, formatSpan, type InstantMs, MINUTE_MS } from '../units/index.ts';
import { type Cell, type Column, hang, table } from './layout.ts';
import type { Look } from './output.ts';
import { reasons, rungText, section, stepNumbers } from './session-text.ts';

const COLUMNS: readonly Column[] = [
  { title: '', right: true },
  { title: 'At', right: true },
  { title: 'Step', wrap: true },
  { title: 'Rule' },
  { title: 'Evidence it needs' },
];

/** Cautions first, then how it is expected to go, then why each step is there. */
export function rehearsalText(look: Look, plan: SessionPlan, rehearsal: Rehearsal, tank: Tank): string {
  let before: RehearsedStep | undefined;
  const rows = plan.steps.map((step, index): readonly Cell[] => {
    const seen = rehearsal.steps[index];
    const meanwhile = seen === undefined ? '' : changed(seen, before);
    before = seen ?? before;
    return [
      String(index + 1),
      seen === undefined ? '' : clock(seen.startsMs, rehearsal.beginsAt, tank),
      [
        { text: step.text },
        ...(step.holdPoint ? [{ text: `waits for you${asks(step)}`, style: 'yellow' as const }] : []),
        ...(meanwhile === '' ? [] : [{ text: meanwhile, style: 'dim' as const }]),
      ],
      step.rule,
      step.needed === 0 ? '-' : rungText(step.needed),
    ];
  });
  return [
    look.paint('bold', plan.title),
    ...section(look, 'Cautions', '! ', plan.cautions),
    '',
    hang(look, '', summary(plan, rehearsal, tank)),
    ...section(look, 'Think of this first', '! ', rehearsal.warnings),
    '',
    table(look, COLUMNS, rows),
    ...section(look, 'Cautions at the steps', '! ', stepCautions(plan)),
    ...section(look, 'Off meanwhile', '- ', offLines(rehearsal)),
    ...section(look, 'Watched afterwards', '- ', watchLines(plan, tank)),
    '',
    look.paint('bold', 'Why each step is there'),
    ...reasons(plan).map(([label, why]) => hang(look, `  ${label}: `, why)),
    ...section(look, 'Notes', '- ', plan.notes),
    ...section(look, 'Reckoned with, where nothing is known of this tank', '- ', rehearsal.assumptions),
  ].join('\n');
}

/** "1:35" from the beginning, or the time of day where that is known. */
function clock(ms: DurationMs, beginsAt: InstantMs | null, tank: Tank): string {
  if (beginsAt !== null) return timeOfDay(beginsAt + ms, tank);
  const minutes = Math.round(ms / MINUTE_MS);
  return `${Math.floor(minutes / 60)}:${String(minutes % 60).padStart(2, '0')}`;
}

const timeOfDay = (at: InstantMs, tank: Tank): string =>
  new Intl.DateTimeFormat('en-GB', { timeZone: tank.timeZone, hour: '2-digit', minute: '2-digit' }).format(at);

function summary(plan: SessionPlan, { totalMs, waitsForYou, ...rest }: Rehearsal, tank: Tank): string {
  const parts = [
    `${plan.steps.length} steps, about ${formatSpan(Math.max(MINUTE_MS, Math.round(totalMs / MINUTE_MS) * MINUTE_MS))} for one person; ${waitsForYou} of them wait for you.`,
  ];
  if (rest.beginsAt !== null && rest.endsAt !== null) {
    const by = rest.endBy === null ? '' : `, must be over by ${timeOfDay(rest.endBy, tank)}`;
    parts.push(`From ${timeOfDay(rest.beginsAt, tank)} to about ${timeOfDay(rest.endsAt, tank)}${by}.`);
  }
  if (rest.highestCm !== null) parts.push(`The sump comes to ${rest.highestCm.toFixed(1)} cm at most.`);
  if (rest.lowestC !== null) parts.push(`The tank comes down to about ${rest.lowestC.toFixed(1)} °C.`);
  return parts.join(' ');
}

/** What a person is to type, in short. */
function asks({ reading }: Step): string {
  if (!reading) return '';
  const { low, high, sameAs, tolerance } = reading;
  const near = sameAs === undefined ? [] : [`within ${tolerance ?? 0} of step ${sameAs.replace('reading:', '')}`];
  const limits = [
    ...(low === undefined ? [] : [`${low} or more`]),
    ...(high === undefined ? [] : [`${high} or less`]),
    ...near,
  ];
  return limits.length === 0 ? ', who types a value' : `, who types a value: ${limits.join(', ')}`;
}

/** Level, warmth and water movement, where they are no longer what they were a step ago. */
function changed(now: RehearsedStep, before: RehearsedStep | undefined): string {
  const words: string[] = [];
  if (now.levelCm !== null && now.levelCm !== before?.levelCm) words.push(`sump ${now.levelCm.toFixed(1)} cm`);
  if (now.temperatureC !== null && now.temperatureC !== before?.temperatureC)
    words.push(`${now.temperatureC.toFixed(1)} °C`);
  if (now.still !== null) {
    const { low, high } = now.still.hoursLeft;
    words.push(
      `no water moves since ${formatSpan(now.still.sinceMs)}: oxygen for about ${low.toFixed(1)} to ${high.toFixed(1)} h`,
    );
  }
  return words.join(', ');
}

/** Each caution once, with the steps it is shown at. */
function stepCautions(plan: SessionPlan): readonly string[] {
  const steps = new Map<string, number[]>();
  for (const [index, { cautions }] of plan.steps.entries())
    for (const text of cautions) steps.set(text, [...(steps.get(text) ?? []), index + 1]);
  return [...steps].map(([text, numbers]) => `${text} (${stepNumbers(numbers)})`);
}

const offLines = ({ offTimes }: Rehearsal): readonly string[] =>
  offTimes
    .toSorted((a, b) => b.ms - a.ms)
    .map(({ name, ms, worryMs }) => {
      const usual = worryMs === null ? 'no limit known' : `up to ${formatSpan(worryMs)} without worry`;
      return `${name}: about ${formatSpan(Math.round(ms / MINUTE_MS) * MINUTE_MS)} (${usual})`;
    });

function watchLines(plan: SessionPlan, tank: Tank): readonly string[] {
  const byLength = new Map<DurationMs, string[]>();
  for (const { equipment, ms } of plan.watch ?? []) {
    const name = tank.equipment.find((each) => each.id === equipment)?.name ?? equipment;
    byLength.set(ms, [...(byLength.get(ms) ?? []), name]);
  }
  return [...byLength].map(([ms, names]) => `${names.join(', ')}: ${formatSpan(ms)}`);
}
