import type { SessionView } from '../app/index.ts';
import type { Rung, SessionPlan } from '../procedure/index.ts';
import { RESULT_WORDS, RUNG_WORDS, STATUS_WORDS } from '../publish/index.ts';
import { type Cell, type Column, hang, table } from './layout.ts';
import type { Look, Style } from './output.ts';

type StepView = SessionView['steps'][number];

/** Rung and words: "3 fresh watts agree". */
export const rungText = (rung: Rung | null): string => (rung === null ? '-' : `${rung} ${RUNG_WORDS[rung]}`);

const PLAN_COLUMNS: readonly Column[] = [
  { title: '', right: true },
  { title: 'Step', wrap: true },
  { title: 'Rule' },
  { title: 'Evidence it needs' },
];

/** What would be done and why, before anything is. */
export function planText(look: Look, plan: SessionPlan): string {
  const rows = plan.steps.map((step, index): readonly Cell[] => [
    String(index + 1),
    [{ text: step.text }, ...(step.holdPoint ? [{ text: 'waits for you', style: 'yellow' as const }] : [])],
    step.rule,
    step.needed === 0 ? '-' : rungText(step.needed),
  ]);
  return [
    look.paint('bold', plan.title),
    ...section(look, 'Cautions', '! ', plan.cautions),
    '',
    table(look, PLAN_COLUMNS, rows),
    '',
    look.paint('bold', 'Why each step is there'),
    ...reasons(plan).map(([label, why]) => hang(look, `  ${label}: `, why)),
    ...section(look, 'Notes', '- ', plan.notes),
  ].join('\n');
}

/** Steps with the same reason share a line: "K17, steps 8, 9 and 10". */
export function reasons(plan: SessionPlan): readonly (readonly [string, string])[] {
  const found = new Map<string, { readonly rule: string; readonly why: string; readonly steps: number[] }>();
  for (const [index, { rule, why }] of plan.steps.entries()) {
    const known = found.get(`${rule} ${why}`) ?? { rule, why, steps: [] };
    found.set(`${rule} ${why}`, known);
    known.steps.push(index + 1);
  }
  return [...found.values()].map(({ rule, why, steps }) => {
    return [`${rule}, ${stepNumbers(steps)}`, why];
  });
}

/** "step 3", "steps 8, 9 and 10". */
export function stepNumbers(steps: readonly number[]): string {
  const last = steps.at(-1);
  return steps.length === 1 ? `step ${last}` : `steps ${steps.slice(0, -1).join(', ')} and ${last}`;
}

export function section(look: Look, title: string, mark: string, texts: readonly string[]): string[] {
  return texts.length === 0
    ? []
    : ['', look.paint('bold', title), ...texts.map((text) => hang(look, `  ${mark}`, text))];
}

const RESULT_STYLE: Readonly<Record<StepView['result'], Style>> = {
  pending: 'dim',
  open: 'bold',
  passed: 'green',
  'passed-unproven': 'yellow',
  failed: 'red',
  skipped: 'dim',
};

const SESSION_COLUMNS: readonly Column[] = [
  { title: '' },
  { title: '', right: true },
  { title: 'Step, and what was seen', wrap: true },
  { title: 'Rule' },
  { title: 'Result' },
];

/** The whole session as it stands; `confirm` is the command that answers what is asked. */
export function sessionText(look: Look, view: SessionView, confirm: string): string {
  const rows = view.steps.map((step, index): readonly Cell[] => [
    index === view.step ? '>' : '',
    String(index + 1),
    [{ text: step.text }, ...(seen(step) === '' ? [] : [{ text: seen(step), style: 'dim' as const }])],
    step.rule,
    { text: RESULT_WORDS[step.result], style: RESULT_STYLE[step.result] },
  ]);
  return [headLine(look, view), '', table(look, SESSION_COLUMNS, rows), ...standText(look, view, confirm)].join('\n');
}

/** "Skimmer service: Held, waits for a person. Started by …". */
export function headLine(look: Look, view: SessionView): string {
  return hang(look, '', `${view.title}: ${STATUS_WORDS[view.status]}. Started by ${view.startedBy}.`);
}

/** What stands after the steps: claims, what is off, what holds it, what is asked, how it ended. */
export function standText(look: Look, view: SessionView, confirm: string): string[] {
  const claims = view.claims.map((claim) => `Claimed: ${claim.equipment} by ${claim.person}.`);
  const off = view.outOfService.length === 0 ? [] : [`Out of service: ${view.outOfService.join(', ')}.`];
  const asked = view.prompt !== null;
  // Where the hold asks for an answer, the question says it all.
  const held = view.hold !== null && view.hold.text !== view.prompt?.text ? [view.hold.text] : [];
  return [
    ...paragraph([...claims, ...off].map((text) => hang(look, '', text))),
    ...paragraph(held.map((text) => look.paint('red', hang(look, 'HELD: ', text)))),
    ...paragraph(asked ? [hang(look, 'Asked now: ', view.prompt?.text ?? ''), 'Answer with:', `  ${confirm}`] : []),
    ...paragraph(view.summary === '' ? [] : [hang(look, '', view.summary)]),
  ];
}

const paragraph = (lines: readonly string[]): string[] => (lines.length === 0 ? [] : ['', ...lines]);

/** A step as it closes, for following a session. */
export function stepLines(look: Look, step: StepView): string {
  const result = RESULT_WORDS[step.result].padEnd(RESULT_WORDS['passed-unproven'].length + 2);
  const painted = look.paint(RESULT_STYLE[step.result], result);
  const told = hang(look, result, `${step.text} [${step.rule}]`).slice(result.length);
  const evidence = seen(step);
  const under = evidence === '' ? '' : `\n${look.paint('dim', hang(look, ' '.repeat(result.length), evidence))}`;
  return `${painted}${told}${under}`;
}

function seen(step: StepView): string {
  if (step.evidence === null) return step.evidenceText;
  return `${rungText(step.evidence)}: ${step.evidenceText}`;
}
