// One run told from beginning to end, for whoever wants to know why.

import { describeFault } from '../../../src/sim/session/index.ts';
import { checkTrace } from '../checker/index.ts';
import type { TraceEntry } from '../trace.ts';
import { runSession } from './drive.ts';
import { type PlannedRun, specOf } from './planner.ts';

export function storyOf(run: PlannedRun): string {
  const result = runSession(specOf(run));
  const verdict = checkTrace(result.trace);
  const from = result.trace.entries[0]?.at ?? 0;
  const bad = verdict.violations.map(({ invariant, at, text }) => ({ at, line: `!!! ${invariant}: ${text}` }));
  const lines = [
    `run ${run.label}: ${run.procedure} on the ${run.tank} tank, ${run.kind}`,
    ...run.faults.map((fault) => `  to strike: ${describeFault(fault)}`),
  ];
  for (const entry of result.trace.entries) {
    while (bad[0] !== undefined && bad[0].at < entry.at) lines.push(`${clock(bad[0].at - from)} ${bad.shift()?.line}`);
    const text = lineOf(entry);
    if (text !== null) lines.push(`${clock(entry.at - from)} ${text}`);
  }
  lines.push(...bad.map((each) => `${clock(each.at - from)} ${each.line}`));
  for (const text of result.faultsOfEngine) lines.push(`!!! engine: ${text}`);
  lines.push(`${result.ending}; extra questions ${result.extraQuestions}; ${result.events} events`);
  return lines.join('\n');
}

function clock(ms: number): string {
  const s = Math.floor(ms / 1000);
  const two = (value: number): string => String(value).padStart(2, '0');
  return `${two(Math.floor(s / 3600))}:${two(Math.floor(s / 60) % 60)}:${two(s % 60)}.${String(ms % 1000).padStart(3, '0')}`;
}

/** Of the reports only those of what changed are worth a line. */
const lastValue = new Map<string, number | null>();

function lineOf(entry: TraceEntry): string | null {
  const { kind, at: _, ...rest } = entry;
  if (entry.kind === 'reading') {
    const before = lastValue.get(entry.entity);
    lastValue.set(entry.entity, entry.value);
    const small = before != null && entry.value !== null && Math.abs(before - entry.value) < 1;
    if (entry.about === 'temperature' || before === entry.value || (small && entry.about !== 'relay')) return null;
    return `  heard ${entry.entity} ${entry.value ?? 'unknown'}`;
  }
  if (entry.kind === 'said')
    return `${entry.what === 'alarm' ? '** alarm' : entry.what}${entry.step === undefined ? '' : ` ${entry.step}`}: ${entry.text}`;
  if (entry.kind === 'step')
    return `${entry.result} ${entry.step}${entry.rung === undefined ? '' : ` (rung ${entry.rung})`}`;
  return `${kind === 'truth' || kind === 'water' || kind === 'hands' ? '  true: ' : ''}${kind} ${Object.entries(rest)
    .filter(([key]) => key !== 'kind')
    .map(([key, value]) => `${key}=${Array.isArray(value) ? value.join('+') : String(value)}`)
    .join(' ')}`;
}
