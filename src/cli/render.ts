import type { PartUsage, UsageWhy } from '../app/index.ts';
import type { Standing } from '../remind/index.ts';
import { formatBounds, formatInstant, formatNumber, type InstantMs } from '../units/index.ts';
import { type Cell, type Column, type Piece, table } from './layout.ts';
import type { Look } from './output.ts';

const day = (at: InstantMs | null, zone: string): string => (at === null ? '-' : formatInstant(at, zone).slice(0, 10));

const USAGE_COLUMNS: readonly Column[] = [
  { title: 'Part', wrap: true },
  { title: 'Used (bounds)', right: true, wrap: true },
  { title: 'Limit', right: true },
  { title: 'Share', right: true },
  { title: 'Counted since' },
];

/** Under the name of a part the id that other commands take. */
export function usageTable(look: Look, usages: readonly PartUsage[], zone: string): string {
  const rows = usages.flatMap((part) => {
    const number = part.life > 1 ? `, number ${part.life}` : '';
    const label = `${part.part}${number}${part.spare === undefined ? '' : `, ${part.spare} is in`}`;
    const figures = part.measures.map((usage): readonly Cell[] => [
      usage.countingSince === null ? 'not counted yet' : formatBounds(usage, usage.unit),
      usage.limit === null ? '-' : `${formatNumber(usage.limit, 0)} ${usage.unit}`,
      usage.limit === null || usage.countingSince === null
        ? '-'
        : `${formatNumber((100 * usage.best) / usage.limit, 0)} %`,
      day(usage.countingSince, zone),
    ]);
    const [first = [], second = [], ...more] = figures;
    return [
      [part.name, ...first],
      [{ text: label, style: 'dim' as const }, ...second],
      ...more.map((row) => ['', ...row]),
      ...pieceRows(part, zone),
    ];
  });
  return table(look, USAGE_COLUMNS, rows);
}

/** A set of several ages is as old as its oldest piece; below it each piece tells its own. */
function pieceRows({ pieces = [] }: PartUsage, zone: string): (readonly Cell[])[] {
  return pieces.map(({ piece, fittedAt, usages }) => [
    { text: `piece ${piece}`, style: 'dim' },
    usages.map((usage) => ({ text: formatBounds(usage, usage.unit) })),
    '',
    '',
    day(fittedAt, zone),
  ]);
}

const WORD_STYLE = {
  overdue: 'red',
  due: 'red',
  near: 'yellow',
  order: 'yellow',
  unknown: 'yellow',
  fine: 'green',
} as const;

const DUE_COLUMNS: readonly Column[] = [
  { title: 'Standing' },
  { title: 'Part', wrap: true },
  { title: 'Why', wrap: true },
];

/** The likely date with the band that holds eight of ten, and what they rest on; an age needs neither. */
function forecastLine({ reachedAt, restsOn, word }: Standing, zone: string): readonly Piece[] {
  if (reachedAt === null || restsOn == null || word === 'due' || word === 'overdue') return [];
  const [early, likely, late] = [reachedAt.early, reachedAt.likely, reachedAt.late].map((at) => day(at, zone));
  const band = early === late ? '' : `, 8 of 10 between ${early} and ${late}`;
  return [{ text: `likely ${likely}${band}; ${restsOn}`, style: 'dim' }];
}

export function dueTable(look: Look, standings: readonly Standing[], zone: string): string {
  const rows = standings.map((one): readonly Cell[] => [
    { text: one.word, style: WORD_STYLE[one.word] },
    [{ text: one.name }, { text: one.part, style: 'dim' }],
    // The sentence begins with the name where it stands alone.
    [
      { text: one.reason.startsWith(`${one.name}: `) ? one.reason.slice(one.name.length + 2) : one.reason },
      ...forecastLine(one, zone),
    ],
  ]);
  return table(look, DUE_COLUMNS, rows);
}

const WHY_COLUMNS: readonly Column[] = [
  { title: 'From' },
  { title: 'To' },
  { title: 'Known from', wrap: true },
  { title: 'Added', right: true },
];

export function whyTables(look: Look, why: readonly UsageWhy[], zone: string): string {
  return why
    .map(({ measure, unit, counter, source, rows }) => {
      const lines = rows.map((row) => [
        formatInstant(row.from, zone),
        formatInstant(row.to, zone),
        row.origin,
        formatBounds(row, unit),
      ]);
      return `${look.paint('bold', measure)}: counter ${counter}, ${source}\n${table(look, WHY_COLUMNS, lines)}`;
    })
    .join('\n\n');
}
