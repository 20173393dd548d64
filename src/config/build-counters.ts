import { problem } from '../errors/index.ts';
import type { CounterDef, CounterSource, Measure, Narrowing } from '../model/index.ts';
import { formatQuantity, KINDS, parseQuantity } from '../units/index.ts';
import { type BuildContext, optional, sentenceName } from './build-context.ts';
import type { Written } from './schema.ts';

type WrittenCounter = Written['counters'][string];

const SOURCES = [
  'onState',
  'powerThreshold',
  'total',
  'pulses',
  'runtimeRate',
  'heldPower',
  'grams',
  'actuations',
] as const;

export function buildCounters(context: BuildContext): CounterDef[] {
  const counters: CounterDef[] = [];
  for (const [id, each] of Object.entries(context.written.counters)) {
    const given = SOURCES.filter((key) => each[key] !== undefined);
    if (given.length !== 1) {
      const expected = SOURCES.join(', ');
      const example = 'onState: { entity: switch.heater }';
      context.findings.add(['counters', id], 'key', (at, path) =>
        given.length === 0
          ? problem('SW-CFG-004', { at, path, expected: `one of ${expected}`, example })
          : problem('SW-CFG-017', { at, path, found: given.join(' and '), expected }),
      );
      continue;
    }
    const built = sourceOf(id, each, context);
    if (built !== null) counters.push({ id, name: each.name ?? sentenceName(id), ...built });
  }
  return counters;
}

type Built = { readonly source: CounterSource; readonly measures: readonly Measure[] };

function sourceOf(id: string, written: WrittenCounter, context: BuildContext): Built | null {
  if (written.onState !== undefined) {
    const { entity, narrowedBy } = written.onState;
    const where = ['counters', id, 'onState'];
    return {
      source: { kind: 'on-state', entity, ...narrowing(where, narrowedBy, context) },
      measures: ['on-hours', 'starts'],
    };
  }
  if (written.powerThreshold !== undefined) return threshold(id, written.powerThreshold, context);
  if (written.total !== undefined) return total(id, written.total, context);
  if (written.pulses !== undefined) {
    const { entity, each } = written.pulses;
    return { source: { kind: 'pulses', entity, litresPerPulse: each }, measures: ['litres'] };
  }
  if (written.runtimeRate !== undefined) {
    const { entity, rate, narrowedBy } = written.runtimeRate;
    const narrowed = narrowing(['counters', id, 'runtimeRate'], narrowedBy, context);
    return { source: { kind: 'runtime-rate', entity, litresPerHour: rate, ...narrowed }, measures: ['litres'] };
  }
  if (written.grams !== undefined) return { source: dissolved(written.grams), measures: ['grams'] };
  if (written.actuations !== undefined) {
    const { entity, edges, shortest } = written.actuations;
    return {
      source: { kind: 'edges', entity, edges, ...optional({ shortestMs: shortest }) },
      measures: ['actuations'],
    };
  }
  if (written.heldPower === undefined) return null;
  const { entity, maxHold, maxPower } = written.heldPower;
  return { source: { kind: 'held-power', entity, maxHoldMs: maxHold, maxPowerW: maxPower }, measures: ['energy'] };
}

function threshold(id: string, written: NonNullable<WrittenCounter['powerThreshold']>, context: BuildContext): Built {
  const { entity, onAbove, offBelow, minOn, minOff, narrowedBy } = written;
  if (offBelow >= onAbove) {
    const conflict = `offBelow ${formatQuantity('power', offBelow)} is not below onAbove ${formatQuantity('power', onAbove)}`;
    const hint = 'Leave room between the two, so that a wavering reading makes no starts.';
    context.findings.add(['counters', id, 'powerThreshold', 'offBelow'], 'value', (at, path) =>
      problem('SW-CFG-018', { at, path, conflict, hint }),
    );
  }
  return {
    source: {
      kind: 'power-threshold',
      entity,
      onAboveW: onAbove,
      offBelowW: offBelow,
      minOnMs: minOn,
      minOffMs: minOff,
      ...narrowing(['counters', id, 'powerThreshold'], narrowedBy, context),
    },
    measures: ['on-hours', 'starts'],
  };
}

function total(id: string, written: NonNullable<WrittenCounter['total']>, context: BuildContext): Built {
  const { entity, unit, maxPerHour, resets } = written;
  const measure = unit.endsWith('Wh') ? 'energy' : 'litres';
  if (maxPerHour.kind !== measure) {
    const conflict = `the meter reads ${unit}, but maxPerHour is ${maxPerHour.kind === 'energy' ? 'an energy' : 'a volume'}`;
    const hint =
      measure === 'litres' ? 'Write it as a volume, such as 200 L.' : 'Write it as an energy, such as 3 kWh.';
    context.findings.add(['counters', id, 'total', 'maxPerHour'], 'value', (at, path) =>
      problem('SW-CFG-018', { at, path, conflict, hint }),
    );
  }
  return {
    source: {
      kind: 'total',
      entity,
      unitsPerReading: unitsPerReading(unit, measure),
      maxPerHour: maxPerHour.amount,
      ...atOnce(resets),
    },
    measures: [measure],
  };
}

/** The usual way is not written down, so that a counter is the same with and without the key. */
const atOnce = (resets: 'confirmed' | 'at-once'): { readonly resets?: 'at-once' } =>
  resets === 'at-once' ? { resets } : {};

function dissolved(written: NonNullable<WrittenCounter['grams']>): CounterSource {
  const { litres, unit, maxPerHour, resets, tds, maxAge, maxTds } = written;
  return {
    kind: 'dissolved',
    entity: litres,
    unitsPerReading: unitsPerReading(unit, 'litres'),
    maxPerHour,
    ...atOnce(resets),
    tdsEntity: tds,
    tdsMaxAgeMs: maxAge,
    maxTdsMgPerL: maxTds,
  };
}

type WrittenNarrowing = NonNullable<WrittenCounter['onState']>['narrowedBy'];

function narrowing(
  where: readonly string[],
  written: WrittenNarrowing,
  { findings }: BuildContext,
): { readonly narrowedBy?: Narrowing } {
  if (written === undefined) return {};
  const { entity, unit, leastPerHourOn, mostPerHourOn, mostPerHourOff, coarseness } = written;
  const measure = unit.endsWith('Wh') ? 'energy' : 'litres';
  const refuse = (key: string, conflict: string, hint: string): void =>
    findings.add([...where, 'narrowedBy', key], 'value', (at, path) =>
      problem('SW-CFG-018', { at, path, conflict, hint }),
    );
  for (const [key, amount] of Object.entries({ leastPerHourOn, mostPerHourOn, mostPerHourOff, coarseness }))
    if (amount.kind !== measure)
      refuse(
        key,
        `the meter reads ${unit}, but this is ${amount.kind === 'energy' ? 'an energy' : 'a volume'}`,
        measure === 'litres' ? 'Write it as a volume, such as 0.5 L.' : 'Write it as an energy, such as 0.1 kWh.',
      );
  if (leastPerHourOn.amount <= mostPerHourOff.amount)
    refuse(
      'leastPerHourOn',
      'it may take as much in an hour of off-time',
      'A meter that moves as fast when off tells nothing of on-time.',
    );
  if (leastPerHourOn.amount > mostPerHourOn.amount)
    refuse('mostPerHourOn', 'it is less than leastPerHourOn', 'Write the larger one here.');
  return {
    narrowedBy: {
      entity,
      unitsPerReading: unitsPerReading(unit, measure),
      leastPerHourOn: leastPerHourOn.amount,
      mostPerHourOn: mostPerHourOn.amount,
      mostPerHourOff: mostPerHourOff.amount,
      coarseness: coarseness.amount,
    },
  };
}

/** Litres or kWh in one unit of the meter. */
function unitsPerReading(unit: string, measure: 'energy' | 'litres'): number {
  const one = parseQuantity(measure === 'energy' ? 'energy' : 'volume', `1 ${unit}`);
  if (!one.ok) throw new RangeError(`${unit} is not among ${KINDS.volume.name} or ${KINDS.energy.name}`);
  return measure === 'energy' ? one.value / 1000 : one.value;
}
