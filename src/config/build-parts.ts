import { didYouMean, listWords, problem } from '../errors/index.ts';
import {
  type CounterDef,
  type Equipment,
  type Limit,
  MEASURE_UNITS,
  MEASURES,
  type Measure,
  type Part,
} from '../model/index.ts';
import { PARTS, type PartFacts } from '../rules/index.ts';
import { DAY_MS, HOUR_MS, parseInstant, showAmount } from '../units/index.ts';
import { type BuildContext, optional } from './build-context.ts';
import type { Written } from './schema.ts';

type WrittenPart = Written['parts'][string];
type Amounts = NonNullable<WrittenPart['limits']>;

export function buildParts(
  context: BuildContext,
  equipment: readonly Equipment[],
  counters: readonly CounterDef[],
): Part[] {
  return Object.entries(context.written.parts).flatMap(([id, written]) => {
    const facts = Object.hasOwn(PARTS, written.kind) ? PARTS[written.kind] : undefined;
    if (facts === undefined) {
      unknownKind(context, id, written.kind);
      return [];
    }
    checkEquipment(context, id, written);
    const usageFrom = checkCounts(context, id, written, counters);
    const owner = equipment.find((each) => each.id === written.equipment);
    const limits = limitsOf(context, id, written, facts, usageFrom, fitting(counters, owner));
    const fittedAt = fittedOf(context, written);
    const name = written.name ?? nameOf(facts, owner);
    if (fittedAt === undefined) {
      context.warnings.push(`${name}: \`fitted\` is not given, so its age is unknown until it is replaced.`);
    }
    return {
      id,
      name,
      kind: written.kind,
      pieces: written.pieces,
      limits,
      safety: facts.safety,
      usageFrom,
      usedBefore: amountsOf(written.used),
      ...optional({
        equipment: written.equipment,
        fittedAt,
        leadTimeMs: written.leadTime,
        spares: sparesOf(context, id, written),
      }),
    };
  });
}

function nameOf(facts: PartFacts, owner: Equipment | undefined): string {
  const name = `${facts.name[0]?.toUpperCase() ?? ''}${facts.name.slice(1)}`;
  if (owner === undefined || owner.name.toLowerCase().startsWith(facts.name.toLowerCase())) return owner?.name ?? name;
  return `${name} (${owner.name})`;
}

function unknownKind({ findings }: BuildContext, id: string, kind: string): void {
  const known = Object.keys(PARTS);
  findings.add(['parts', id, 'kind'], 'value', (at, path) =>
    problem('SW-CFG-008', {
      at,
      path,
      found: kind,
      what: 'kind of part',
      expected: listWords(known, 60),
      hint: didYouMean(kind, known, 'Choose the one that is nearest and set its `limits`.'),
    }),
  );
}

/** Told apart by their names; a set of several pieces has places, not turns. */
function sparesOf(
  { findings }: BuildContext,
  id: string,
  { spares, pieces }: WrittenPart,
): readonly string[] | undefined {
  if (spares === undefined) return undefined;
  const twice = spares.find((one, index) => spares.indexOf(one) !== index);
  const refuse = (conflict: string, hint: string): void =>
    findings.add(['parts', id, 'spares'], 'value', (at, path) => problem('SW-CFG-018', { at, path, conflict, hint }));
  if (twice !== undefined) refuse(`the name "${twice}" stands there twice`, 'Give each spare a name of its own.');
  if (pieces > 1)
    refuse(`it has ${pieces} pieces`, 'Spares take turns in one place: make each place a part of its own.');
  return spares;
}

function checkEquipment({ findings, ids }: BuildContext, id: string, { equipment }: WrittenPart): void {
  if (equipment === undefined || ids.equipment.includes(equipment)) return;
  findings.add(['parts', id, 'equipment'], 'value', (at, path) =>
    problem('SW-CFG-009', {
      at,
      path,
      what: 'equipment',
      found: equipment,
      expected: listWords(ids.equipment),
      hint: didYouMean(equipment, ids.equipment, 'Add it under `equipment`, or leave the key out.'),
    }),
  );
}

function checkCounts(
  { findings, ids }: BuildContext,
  id: string,
  written: WrittenPart,
  counters: readonly CounterDef[],
): Partial<Record<Measure, string>> {
  const usageFrom: Partial<Record<Measure, string>> = {};
  const counts: { readonly [M in Measure]?: string | undefined } = written.counts;
  for (const measure of MEASURES) {
    const name = counts[measure];
    if (name === undefined) continue;
    const where = ['parts', id, 'counts', measure];
    usageFrom[measure] = name;
    if (!ids.counters.includes(name)) {
      const hint = didYouMean(name, ids.counters, 'Add it under `counters`.');
      findings.add(where, 'value', (at, path) =>
        problem('SW-CFG-009', { at, path, what: 'counter', found: name, expected: listWords(ids.counters), hint }),
      );
      continue;
    }
    const counter = counters.find((each) => each.id === name);
    if (counter === undefined || counter.measures.includes(measure)) continue;
    const conflict = `the counter ${name} gives ${counter.measures.join(' and ')}, not ${measure}`;
    const able = counters.filter((each) => each.measures.includes(measure)).map((each) => each.id);
    const hint =
      able.length === 0
        ? `No counter in this file gives ${measure}; add one.`
        : `These give ${measure}: ${listWords(able)}.`;
    findings.add(where, 'value', (at, path) => problem('SW-CFG-018', { at, path, conflict, hint }));
  }
  return usageFrom;
}

/** Counters that look at the part's own plug come first. */
function fitting(
  counters: readonly CounterDef[],
  owner: Equipment | undefined,
): (measure: Measure) => readonly string[] {
  const own = [owner?.switchEntity, owner?.powerEntity];
  return (measure) => {
    const able = counters.filter((each) => each.measures.includes(measure));
    const near = able.filter((each) => own.includes(each.source.entity));
    return (near.length > 0 ? near : able).map((each) => each.id);
  };
}

function limitsOf(
  context: BuildContext,
  id: string,
  written: WrittenPart,
  facts: PartFacts,
  usageFrom: Partial<Record<Measure, string>>,
  able: (measure: Measure) => readonly string[],
): readonly Limit[] {
  const own = written.limits === undefined ? [] : Object.entries(amountsOf(written.limits));
  const limits = own.map(([measure, amount]): Limit => ({ measure: measure as Measure, amount }));
  for (const each of limits) checkOwnLimit(context, id, written, facts, each);
  const isOwn = (measure: Measure): boolean => limits.some((each) => each.measure === measure);
  // Limits of a part's own replace the usual ones. A safety part keeps those it does not name: none is lost without a word.
  const usual = limits.length === 0 || facts.safety ? facts.limits.filter(({ measure }) => !isOwn(measure)) : [];
  const wanted = [...limits, ...usual];
  const kept = wanted.filter(({ measure }) => measure === 'days' || usageFrom[measure] !== undefined);
  for (const { measure, amount } of wanted) {
    if (measure === 'days' || usageFrom[measure] !== undefined) continue;
    const counters = able(measure);
    // A usual limit may go uncounted, aloud, where another stands and nothing could count it or the keeper chose limits.
    if (!isOwn(measure) && kept.length > 0 && (counters.length === 0 || limits.length > 0)) {
      context.warnings.push(
        `${written.name ?? facts.name}: nothing counts its ${measure}, so its limit of ${showAmount(amount, MEASURE_UNITS[measure])} is not watched.`,
      );
      continue;
    }
    missingCounter(context, id, isOwn(measure) ? ['parts', id, 'limits', measure] : ['parts', id], measure, counters);
  }
  return kept;
}

function missingCounter(
  { findings }: BuildContext,
  id: string,
  where: readonly string[],
  measure: Measure,
  counters: readonly string[],
): void {
  const [first] = counters;
  const hint =
    first === undefined
      ? `No counter in this file gives ${measure}. Add one under \`counters\` and name it: \`counts: { ${measure}: … }\`.`
      : `Add \`counts: { ${measure}: ${first} }\` to ${id}. These counters give it: ${listWords(counters)}.`;
  findings.add(where, 'key', (at, path) => problem('SW-CFG-014', { at, path, measure, hint }));
}

/** Nothing is due at zero; and a safety part is never given a longer life without a word. */
function checkOwnLimit(context: BuildContext, id: string, written: WrittenPart, facts: PartFacts, limit: Limit): void {
  const { measure, amount } = limit;
  if (amount <= 0) {
    context.findings.add(['parts', id, 'limits', measure], 'value', (at, path) =>
      problem('SW-CFG-007', { at, path, found: showAmount(amount, MEASURE_UNITS[measure]), expected: 'more than 0' }),
    );
  }
  const usual = facts.limits.find((each) => each.measure === measure);
  if (!facts.safety || usual === undefined || amount <= usual.amount) return;
  const unit = MEASURE_UNITS[measure];
  context.warnings.push(
    `${written.name ?? facts.name}: a safety part, and its limit of ${showAmount(amount, unit)} is longer than the usual ${showAmount(usual.amount, unit)}.`,
  );
}

function fittedOf({ written }: BuildContext, part: WrittenPart): number | undefined {
  if (part.fitted === undefined) return undefined;
  const parsed = parseInstant(part.fitted, written.tank.zone);
  return parsed.ok ? parsed.value : undefined;
}

/** Amounts in the unit each measure is kept in. */
function amountsOf(written: Amounts | undefined): Partial<Record<Measure, number>> {
  if (written === undefined) return {};
  return {
    ...optional({
      'on-hours': scaled(written['on-hours'], HOUR_MS),
      starts: written.starts,
      litres: written.litres,
      energy: scaled(written.energy, 1000),
      grams: written.grams,
      actuations: written.actuations,
      days: scaled(written.days, DAY_MS),
    }),
  };
}

function scaled(value: number | undefined, per: number): number | undefined {
  return value === undefined ? undefined : value / per;
}
