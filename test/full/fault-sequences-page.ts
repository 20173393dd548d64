// The page on the fault sequences, written from what a run found.
import type { Outcome } from './fault-sequences-run.ts';
import type { Phase } from './fault-sequences-script.ts';

const UNITS: Readonly<Record<string, string>> = { minutes: 'min on', starts: 'starts', wattHours: 'Wh', litres: 'L' };

const number = (value: number): string => String(Math.round(value * 100) / 100);

export function line({ sequence, measure, truth, ours, helper }: Outcome): readonly string[] {
  const { low, best, high } = ours;
  const bounds = low === high ? number(best) : `${number(low)} / ${number(best)} / ${number(high)}`;
  const theirs = helper.value === null ? 'no value' : number(helper.value);
  const id = sequence.id;
  return [
    id,
    sequence.title,
    `${number(truth.high)} ${UNITS[measure]}`,
    bounds,
    `${theirs} (${helper.name})`,
    sequence.remark,
  ];
}

const row = (cells: readonly string[]): string => `| ${cells.join(' | ')} |`;

export function table(outcomes: readonly Outcome[]): string {
  const head = ['', 'sequence', 'truth', 'ours: low / best / high', 'hub’s helper', 'remark'];
  return [row(head), row(head.map(() => '---')), ...outcomes.map((outcome) => row(line(outcome)))].join('\n');
}

export function page(outcomes: readonly Outcome[], _phases: readonly Phase[]): string {
  return `${table(outcomes)}\n`;
}
