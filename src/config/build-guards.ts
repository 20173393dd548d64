import { didYouMean, listWords, problem } from '../errors/index.ts';
import type { Equipment, GuardDef, GuardKind, Sensor, SensorKind } from '../model/index.ts';
import { ROLES } from '../rules/index.ts';
import { type BuildContext, optional, sentenceName } from './build-context.ts';
import type { Written } from './schema.ts';

type WrittenGuard = Written['guards'][string];
type Key = 'above' | 'below' | 'run' | 'perDay' | 'litres' | 'after' | 'pump';

/** What each kind may set, and which sensors of the tank it takes where none are named. */
const KINDS: Readonly<Record<GuardKind, { readonly keys: readonly Key[]; readonly sensors: readonly SensorKind[] }>> = {
  'high-level': { keys: ['above'], sensors: ['high-float'] },
  leak: { keys: [], sensors: ['leak'] },
  'top-off': { keys: ['run', 'perDay'], sensors: [] },
  'dry-heater': { keys: ['below', 'after'], sensors: ['sump-temperature', 'display-temperature'] },
  'barrel-dry': { keys: ['pump'], sensors: [] },
  'ro-litres': { keys: ['litres', 'run'], sensors: ['product-litres'] },
  'flow-while-off': { keys: ['litres'], sensors: ['product-litres', 'feed-litres'] },
  'welded-relay': { keys: [], sensors: [] },
};

/** These look at several sensors and switch everything they name; the others watch one device each. */
const TOGETHER: ReadonlySet<GuardKind> = new Set(['high-level', 'leak']);
/** Of these one sensor is enough, the first that the tank has in the order above. */
const ONE_SENSOR: ReadonlySet<GuardKind> = new Set(['dry-heater', 'ro-litres', 'flow-while-off']);

export function buildGuards(
  context: BuildContext,
  equipment: readonly Equipment[],
  sensors: readonly Sensor[],
): GuardDef[] {
  return Object.entries(context.written.guards).flatMap(([id, written]) => {
    checkKeys(context, id, written);
    checkOff(context, id, written, equipment);
    const seen = sensorsFor(context, id, written, sensors);
    const pump = pumpFor(context, id, written, equipment);
    const { above, below, run, perDay, litres, after } = written;
    const def = (own: string, off: readonly string[], name: string): GuardDef => ({
      ...{ id: own, name, kind: written.kind, off, sensors: seen },
      ...optional({
        ...{ aboveCm: above, belowCm: below, runMs: run, perDayMs: perDay, litres, afterMs: after, pump },
      }),
    });
    const name = written.name ?? sentenceName(id);
    if (TOGETHER.has(written.kind)) return [def(id, written.off, name)];
    if (written.off.length === 1) return [def(id, written.off, name)];
    return written.off.map((one) => {
      const shown = equipment.find((each) => each.id === one)?.name ?? one;
      return def(`${id}-${one}`, [one], `${name}, ${shown}`);
    });
  });
}

function refuse({ findings }: BuildContext, path: readonly string[], conflict: string, hint: string): void {
  findings.add(path, 'value', (at, where) => problem('SW-CFG-018', { at, path: where, conflict, hint }));
}

function checkKeys(context: BuildContext, id: string, written: WrittenGuard): void {
  const { kind } = written;
  const { keys } = KINDS[kind];
  for (const key of ['above', 'below', 'run', 'perDay', 'litres', 'after', 'pump'] as const) {
    if (written[key] === undefined || keys.includes(key)) continue;
    const hint =
      keys.length === 0 ? `A ${kind} guard takes none of these.` : `A ${kind} guard takes: ${listWords(keys)}.`;
    refuse(context, ['guards', id, key], `a ${kind} guard does not look at it`, hint);
  }
  if (kind === 'ro-litres' && written.litres === undefined && written.run === undefined)
    context.findings.add(['guards', id], 'key', (at, path) =>
      problem('SW-CFG-004', { at, path, expected: 'litres or run', example: 'litres: 60 L' }),
    );
}

function checkOff(
  context: BuildContext,
  id: string,
  { off, kind }: WrittenGuard,
  equipment: readonly Equipment[],
): void {
  const { findings, ids } = context;
  for (const [index, name] of off.entries()) {
    const where = ['guards', id, 'off', String(index)];
    const one = equipment.find((each) => each.id === name);
    if (!ids.equipment.includes(name)) {
      const hint = didYouMean(name, ids.equipment, 'Add it under `equipment`.');
      findings.add(where, 'value', (at, path) =>
        problem('SW-CFG-009', { at, path, what: 'equipment', found: name, expected: listWords(ids.equipment), hint }),
      );
    } else if (one !== undefined) checkMayStop(context, where, kind, one);
  }
}

function checkMayStop(context: BuildContext, where: readonly string[], kind: GuardKind, one: Equipment): void {
  const { waterMover, neverStopped } = ROLES[one.role];
  const toldOnly = kind === 'welded-relay';
  if (waterMover && !toldOnly)
    refuse(
      context,
      where,
      `${one.name} moves the water, and no guard stops that`,
      'Of a leak or a high level the return is stopped by a person, by the level: its drain-down makes some leaks worse.',
    );
  if (neverStopped) refuse(context, where, `${one.name} is never stopped`, 'Take it out of the list.');
  if (one.switchEntity === undefined)
    refuse(context, where, `${one.name} has no switch, so nothing can switch it off`, 'Give it one, or take it out.');
  const needsWatts = kind === 'welded-relay' || kind === 'dry-heater' || kind === 'barrel-dry';
  if (needsWatts && one.powerEntity === undefined)
    refuse(context, where, `${one.name} has no power reading, which a ${kind} guard looks at`, 'Give it `power`.');
}

function sensorsFor(
  context: BuildContext,
  id: string,
  written: WrittenGuard,
  sensors: readonly Sensor[],
): readonly string[] {
  const { kind } = written;
  const wanted = KINDS[kind].sensors;
  const fitting = wanted.flatMap((each) => sensors.filter((one) => one.kind === each)).map((one) => one.id);
  for (const [index, name] of (written.sensors ?? []).entries()) {
    if (context.ids.sensors.includes(name)) continue;
    const hint = didYouMean(name, context.ids.sensors, 'Add it under `sensors`.');
    context.findings.add(['guards', id, 'sensors', String(index)], 'value', (at, path) =>
      problem('SW-CFG-009', { at, path, what: 'sensor', found: name, expected: listWords(context.ids.sensors), hint }),
    );
  }
  const level = sensors.find((one) => one.kind === 'sump-level')?.id;
  const byLevel = written.above !== undefined || written.below !== undefined;
  const own = written.sensors ?? (ONE_SENSOR.has(kind) ? fitting.slice(0, 1) : fitting);
  if (byLevel && level === undefined)
    refuse(context, ['guards', id], 'there is no sump level sensor to measure it', 'Name one under `sensors`.');
  const all = [...new Set([...own, ...(byLevel && level !== undefined ? [level] : [])])];
  // A barrel or a relay is watched by watts alone; the others see nothing without a sensor.
  if (wanted.length > 0 && all.length === 0 && !(kind === 'ro-litres' && written.run !== undefined))
    refuse(
      context,
      ['guards', id, 'kind'],
      `the tank has no sensor for it (${listWords(wanted)})`,
      'Add one under `sensors`.',
    );
  checkBounds(context, id, written, all, sensors);
  return all;
}

/** A level sensor says nothing without the level that counts. */
function checkBounds(
  context: BuildContext,
  id: string,
  { kind, above, below }: WrittenGuard,
  names: readonly string[],
  sensors: readonly Sensor[],
): void {
  const hasLevel = sensors.some((one) => one.kind === 'sump-level' && names.includes(one.id));
  if (!hasLevel) return;
  const missing = kind === 'high-level' ? above === undefined : kind === 'dry-heater' && below === undefined;
  if (missing)
    refuse(
      context,
      ['guards', id, 'sensors'],
      'a level sensor is named, but not the level that counts',
      kind === 'high-level' ? 'Add `above`.' : 'Add `below`.',
    );
}

function pumpFor(
  context: BuildContext,
  id: string,
  { kind, pump }: WrittenGuard,
  equipment: readonly Equipment[],
): string | undefined {
  if (kind !== 'barrel-dry') return undefined;
  if (pump === undefined) return equipment.find((one) => one.role === 'mixing-pump')?.id;
  if (context.ids.equipment.includes(pump)) return pump;
  const hint = didYouMean(pump, context.ids.equipment, 'Add it under `equipment`.');
  context.findings.add(['guards', id, 'pump'], 'value', (at, path) =>
    problem('SW-CFG-009', {
      at,
      path,
      what: 'equipment',
      found: pump,
      expected: listWords(context.ids.equipment),
      hint,
    }),
  );
  return undefined;
}
