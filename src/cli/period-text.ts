import type { PeriodUsage } from '../app/index.ts';
import { formatBounds, formatInstant } from '../units/index.ts';
import { type Cell, table } from './layout.ts';
import type { Look } from './output.ts';

const COLUMNS = [{ title: 'Part', wrap: true }, { title: 'Used (bounds)', right: true, wrap: true }, { title: 'From' }];

/** One line a measure; the id, which other commands take, under the name. */
export function periodTable(look: Look, usages: readonly PeriodUsage[], zone: string): string {
  const rows = usages.flatMap((part): (readonly Cell[])[] => {
    const from = part.from === null ? '-' : formatInstant(part.from, zone);
    const figures = part.measures.map((one) =>
      one.countingSince === null ? 'not counted yet' : formatBounds(one, one.unit),
    );
    const [first = 'nothing counts it', second = '', ...more] = figures;
    return [
      [part.name, first, from],
      [{ text: part.part, style: 'dim' }, second],
      ...more.map((text) => ['', text] as const),
    ];
  });
  return table(look, COLUMNS, rows);
}
