import type { PartUsage, SessionView, UsageWhy } from '../app/index.ts';
import type { Rung, SessionPlan } from '../procedure/index.ts';
import { RUNG_WORDS } from '../publish/index.ts';
import type { Standing } from '../remind/index.ts';
import { formatBounds, formatInstant, formatNumber, type InstantMs } from '../units/index.ts';
import { styled, table } from './output.ts';

export const rungText = (rung: Rung | null): string => (rung === null ? '-' : `${rung} ${RUNG_WORDS[rung]}`);

const day = (at: InstantMs | null, zone: string): string => (at === null ? '-' : formatInstant(at, zone).slice(0, 10));

export function usageTable(usages: readonly PartUsage[], zone: string): string {
  const rows = usages.flatMap((part) =>
    part.measures.map((usage, index) => [
      index === 0 ? part.name : '',
      usage.countingSince === null ? 'not counted yet' : formatBounds(usage, usage.unit),
      usage.limit === null ? '-' : `${formatNumber(usage.limit, 0)} ${usage.unit}`,
      usage.limit === null || usage.countingSince === null
        ? '-'
        : `${formatNumber((100 * usage.best) / usage.limit, 0)} %`,
      day(usage.countingSince, zone),
      index === 0 ? `${part.part} (no. ${part.life})` : '',
    ]),
  );
  return table(['Part', 'Used (bounds)', 'Limit', 'Share', 'Counting since', 'Id'], rows, [1, 2, 3]);
}

const WORD_STYLE = {
  overdue: 'red',
  due: 'red',
  near: 'yellow',
  order: 'yellow',
  unknown: 'yellow',
  fine: 'green',
} as const;

export function dueTable(standings: readonly Standing[]): string {
  const rows = standings.map((one) => [styled(WORD_STYLE[one.word], one.word), one.name, one.reason]);
  return table(['Standing', 'Part', 'Why'], rows);
}

export function whyTables(why: readonly UsageWhy[], zone: string): string {
  return why
    .map(({ measure, unit, counter, source, rows }) => {
      const lines = rows.map((row) => [
        formatInstant(row.from, zone),
        formatInstant(row.to, zone),
        row.origin,
        formatBounds(row, unit),
      ]);
      return `${styled('bold', measure)}: counter ${counter}, ${source}\n${table(['From', 'To', 'Origin', 'Added'], lines, [3])}`;
    })
    .join('\n\n');
}

export function planText(plan: SessionPlan): string {
  const rows = plan.steps.map((step, index) => [
    String(index + 1),
    step.holdPoint ? `${step.text} [waits for you]` : step.text,
    step.rule,
    rungText(step.needed),
  ]);
  const why = plan.steps.map((step, index) => `  ${String(index + 1).padStart(2)}  ${step.rule}: ${step.why}`);
  return [
    styled('bold', plan.title),
    '',
    'Cautions',
    ...plan.cautions.map((text) => `  ! ${text}`),
    '',
    table(['', 'Step', 'Rule', 'Evidence needed'], rows, [0]),
    '',
    'Why each step is there',
    ...why,
    ...(plan.notes.length === 0 ? [] : ['', 'Notes', ...plan.notes.map((text) => `  - ${text}`)]),
  ].join('\n');
}

export function sessionText(view: SessionView): string {
  const rows = view.steps.map((step, index) => [
    index === view.step ? '>' : '',
    step.text,
    step.rule,
    step.result,
    rungText(step.evidence),
    step.evidenceText,
  ]);
  const lines = [
    `${styled('bold', view.title)}: ${view.status}, started by ${view.startedBy}`,
    '',
    table(['', 'Step', 'Rule', 'Result', 'Evidence', 'Seen'], rows),
  ];
  if (view.claims.length > 0)
    lines.push('', ...view.claims.map((claim) => `Claimed: ${claim.equipment} by ${claim.person}`));
  if (view.outOfService.length > 0) lines.push('', `Out of service: ${view.outOfService.join(', ')}`);
  if (view.hold !== null) lines.push('', styled('red', `HELD: ${view.hold.text}`));
  if (view.prompt !== null)
    lines.push('', `${styled('bold', 'Asked now')}: ${view.prompt.text}`, 'Answer with: slackwater session confirm');
  if (view.summary !== '') lines.push('', view.summary);
  return lines.join('\n');
}

/** One line a step as it closes, for following a session. */
export function stepLine(step: SessionView['steps'][number]): string {
  return `${step.result.padEnd(15)} ${step.text}  [${step.rule}; ${rungText(step.evidence)}] ${styled('dim', step.evidenceText)}`;
}
