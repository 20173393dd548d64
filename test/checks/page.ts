import { checkFiles, holdAgainst, readRows, solversOf } from './run.ts';
import { type Checked, type CheckValue, COUNTED, type Grade, type Tolerance } from './types.ts';

const GRADES: readonly (readonly [Grade, string])[] = [
  ['A', 'a standard, an official check value, a paper’s own table'],
  ['library', 'computed once by an independent library, named with its version'],
  ['B', 'handbook, data sheet or secondary quotation'],
  ['C', 'weak page, never the only witness'],
  ['practice', 'common practice, no source; never the only witness'],
  ['memory', 'from memory, never the only witness'],
  ['arithmetic', 'plain arithmetic on a stated formula: checks the coding, not the formula'],
];

/** Longer series are shown by their beginning; the file has them whole. */
const LONG = 12;

const HEAD = `# Outside checks

What others published or computed, held against what this program computes. The tests make this page
(\`node test/checks/write-page.ts\`) and fail while it is old or a row differs by more than its tolerance.
Rows marked "arithmetic" check the coding of a formula and not the formula; they, and the weaker grades, are not counted.
`;

export async function checksPage(): Promise<string> {
  const checked = await everyCheck();
  const topics = [...new Set(checked.map(({ row }) => row.topic))];
  const counted = checked.filter(({ row }) => COUNTED.includes(row.grade)).length;
  return [
    HEAD,
    `${counted} rows are counted, of ${checked.length}.\n`,
    table(
      ['grade', 'what it is', 'rows', 'counted'],
      GRADES.map(([grade, what]) => [
        grade,
        what,
        String(checked.filter(({ row }) => row.grade === grade).length),
        COUNTED.includes(grade) ? 'yes' : 'no',
      ]),
    ),
    '## In short\n',
    'How near the row that differs most comes to its tolerance, of the rows that are counted.\n',
    table(
      ['topic', 'rows', 'counted', 'most of its tolerance used'],
      topics.map((topic) => summary(topic, checked)),
    ),
    ...topics.map((topic) => section(topic, checked)),
  ].join('\n');
}

export async function everyCheck(): Promise<readonly Checked[]> {
  const all = await Promise.all(
    checkFiles().map(async (name) => {
      const solvers = await solversOf(name);
      return readRows(name).map((row) => holdAgainst(row, solvers));
    }),
  );
  return all.flat();
}

function summary(topic: string, checked: readonly Checked[]): readonly string[] {
  const rows = checked.filter(({ row }) => row.topic === topic);
  const counted = rows.filter(({ row }) => COUNTED.includes(row.grade));
  const most = Math.max(0, ...counted.map(used));
  return [topic, String(rows.length), String(counted.length), counted.length === 0 ? '' : `${Math.ceil(100 * most)} %`];
}

/** Part of the tolerance that the largest difference takes; a tolerance of nothing leaves nothing to take. */
function used({ row, error }: Checked): number {
  const part = (off: number, allowed: number): number => (allowed === 0 ? 0 : off / allowed);
  if (typeof error === 'number') return typeof row.tolerance === 'number' ? part(error, row.tolerance) : 0;
  const allowed = row.tolerance;
  if (typeof allowed === 'number') return 0;
  return Math.max(0, ...Object.entries(error).map(([key, off]) => part(off, allowed[key] ?? 0)));
}

function section(topic: string, checked: readonly Checked[]): string {
  const rows = checked.filter(({ row }) => row.topic === topic);
  return `\n## ${topic}\n\n${table(
    ['check', 'inputs', 'value', 'ours', 'error', 'tolerance', 'unit', 'grade', 'source'],
    rows.map(({ row, ours, error }) => [
      row.id,
      text(row.inputs as CheckValue),
      text(row.expected),
      text(only(row.expected, ours)),
      measure(error, row.relative === true),
      measure(row.tolerance, row.relative === true),
      row.unit,
      COUNTED.includes(row.grade) ? row.grade : `${row.grade} (not counted)`,
      row.note === undefined ? row.source : `${row.source}. Note: ${row.note}`,
    ]),
  )}`;
}

/** Of ours, what the row speaks of. */
function only(expected: CheckValue, ours: CheckValue): CheckValue {
  if (!isRecord(expected) || !isRecord(ours)) return ours;
  return Object.fromEntries(Object.keys(expected).map((key) => [key, ours[key] ?? null]));
}

function isRecord(value: CheckValue): value is { readonly [key: string]: CheckValue } {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function text(value: CheckValue): string {
  // Ten digits tell more than any instrument and hide the noise of the last places, which differs between machines.
  if (typeof value === 'number') return String(Number(value.toPrecision(10)));
  if (Array.isArray(value)) {
    const shown =
      value.length > LONG ? [...value.slice(0, LONG).map(text), `… (${value.length} values)`] : value.map(text);
    return shown.join(', ');
  }
  if (isRecord(value))
    return Object.entries(value)
      .map(([key, one]) => `${key} ${text(one)}`)
      .join('; ');
  return String(value);
}

/** One digit is enough to see how near it is; below 1e-13 it is rounding noise. */
function measure(value: Tolerance, relative: boolean): string {
  if (typeof value !== 'number')
    return Object.entries(value)
      .map(([key, one]) => `${key} ${measure(one, relative)}`)
      .join('; ');
  const size = value < 1e-13 ? '0' : value.toExponential(0);
  return relative ? `${size} rel.` : size;
}

function table(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const line = (cells: readonly string[]): string =>
    `| ${cells.map((cell) => cell.replaceAll('|', '\\|').replaceAll('](', ']\\(')).join(' | ')} |`;
  return `${[line(head), line(head.map(() => '---')), ...rows.map(line)].join('\n')}\n`;
}
