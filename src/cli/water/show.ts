import { findUnit, formatNumber, fromInside, kindDef, type QuantityKind } from '../../units/index.ts';
import { hang } from '../layout.ts';
import type { Look } from '../output.ts';
import type { Result, Shown } from './types.ts';

/** Units that keepers in the United States read, and how many places more they need; other kinds stay as they are. */
const US_UNITS: Partial<Record<QuantityKind, readonly [unit: string, places: number]>> = {
  volume: ['gal', 0],
  temperature: ['°F', 0],
  temperatureDifference: ['°F', 0],
  length: ['in', 0],
  mass: ['lb', 2],
  flow: ['gal/h', 0],
  pressure: ['psi', 0],
  levelVolume: ['gal/in', 0],
  area: ['ft²', 0],
  airSpeed: ['ft/min', 0],
  heatLoss: ['W/°F', 1],
};
/** What has no unit, in JSON. */
const NO_UNIT = '1';

type Numbers = { readonly value: number; readonly unit: string; readonly low?: number; readonly high?: number };
type Conversion = { readonly unit: string; readonly places: number; readonly convert: (value: number) => number };

/** In the unit that is shown. */
function inUnit({ kind, value, low, high }: Shown, us: boolean): Numbers {
  const { unit, convert: exact } = conversion(kind, us);
  // Twelve digits hold any reading; the places after them are rounding noise.
  const convert = (one: number): number => Number(exact(one).toPrecision(12));
  return {
    value: convert(value),
    unit: unit === '' ? NO_UNIT : unit,
    ...(low === undefined ? {} : { low: convert(low) }),
    ...(high === undefined ? {} : { high: convert(high) }),
  };
}

function conversion(kind: Shown['kind'], us: boolean): Conversion {
  if (typeof kind === 'object') {
    const other = us ? kind.us : undefined;
    return { unit: other?.unit ?? kind.unit, places: 0, convert: (value) => value * (other?.factor ?? 1) };
  }
  const inside = kindDef(kind).units[0];
  const [wanted, places] = (us ? US_UNITS[kind] : undefined) ?? [inside.symbol, 0];
  const unit = findUnit(kind, wanted) ?? inside;
  return { unit: unit.symbol, places, convert: (value) => fromInside(value, unit) };
}

export function resultJson(topic: string, result: Result, us: boolean): Record<string, unknown> {
  const { what, answer, convention, source, also, notes } = result;
  return {
    topic,
    what,
    ...inUnit(answer, us),
    ...(convention === undefined ? {} : { convention }),
    source,
    ...(also === undefined
      ? {}
      : { also: Object.fromEntries(Object.entries(also).map(([name, one]) => [name, inUnit(one, us)])) }),
    ...(notes === undefined || notes.length === 0 ? {} : { notes }),
  };
}

export function resultText(look: Look, result: Result, us: boolean): string {
  const { what, answer, convention, source, also = {}, notes = [] } = result;
  const rows = [[what, answer] as const, ...Object.entries(also)];
  const width = Math.max(...rows.map(([name]) => name.length));
  return [
    ...rows.map(([name, one]) => `${name.padEnd(width)}  ${amount(one, us)}`),
    ...(convention === undefined ? [] : [hang(look, 'Convention: ', convention)]),
    ...notes.map((note) => hang(look, '! ', note)),
    hang(look, 'Source: ', source),
  ].join('\n');
}

function amount(shown: Shown, us: boolean): string {
  const { value, low, high, unit } = inUnit(shown, us);
  const { places } = conversion(shown.kind, us);
  const text = (one: number): string => formatNumber(one, shown.decimals + places);
  const bounds =
    low === undefined || high === undefined || text(low) === text(high) ? '' : ` (${text(low)} to ${text(high)})`;
  // A gravity is read without a unit.
  const bare = unit === NO_UNIT || shown.kind === 'gravity';
  return `${text(value)}${bare ? '' : ` ${unit}`}${bounds}`;
}
