import type { Equipment, Measure, Part, RoleId, Tank, Usage } from '../../../src/model/index.ts';
import { MEASURE_UNITS } from '../../../src/model/index.ts';
import type { PartShown, PublishInput, SessionShown } from '../../../src/publish/index.ts';
import { standingOf } from '../../../src/remind/index.ts';
import { DAY_MS } from '../../../src/units/index.ts';

/** A Tuesday, the invented library tank's day 547. */
export const NOW = Date.UTC(2025, 2, 4, 9);

const equipment = (id: string, name: string, role: RoleId): Equipment => ({
  id,
  name,
  role,
  driver: { kind: 'always-on' },
  cycling: false,
  inSump: false,
  switchDelayMs: 1000,
});

type Row = readonly [
  id: string,
  name: string,
  kind: string,
  equipment: string | undefined,
  ageDays: number,
  limits: Readonly<Partial<Record<Measure, number>>>,
  used: Readonly<Partial<Record<Measure, readonly [number, number, number]>>>,
  perDay: Readonly<Partial<Record<Measure, number>>>,
  more?: { readonly safety?: boolean; readonly leadDays?: number; readonly putOffDays?: number },
];

const hours = (best: number, low = best, high = best) => [low, best, high] as const;

/** The tank's wear ledger of that day, in the measures that are counted so far. */
const LEDGER: readonly Row[] = [
  [
    'c1-tubes',
    'C1 tubes',
    'fluorescent-tubes',
    'lamp-c1',
    344,
    { 'on-hours': 3600, days: 365 },
    { 'on-hours': hours(3096, 3090, 3102) },
    { 'on-hours': 9 },
    { leadDays: 14 },
  ],
  [
    'c2-tubes',
    'C2 tubes',
    'fluorescent-tubes',
    'lamp-c2',
    344,
    { 'on-hours': 3600, days: 365 },
    { 'on-hours': hours(2064, 2061, 2069) },
    { 'on-hours': 6 },
  ],
  [
    'uv-lamp',
    'UV lamp',
    'uv-lamp',
    'uv',
    344,
    { 'on-hours': 8000, days: 365 },
    { 'on-hours': hours(8256, 8250, 8256) },
    { 'on-hours': 24 },
  ],
  [
    'sediment',
    'Sediment cartridge',
    'sediment-cartridge',
    'ro',
    162,
    { litres: 10_000, days: 183 },
    { litres: hours(8035, 8010, 8101) },
    { litres: 49 },
  ],
  [
    'carbon-block',
    'Carbon block',
    'carbon-block',
    'ro',
    162,
    { litres: 15_000, days: 274 },
    { litres: hours(8035, 8010, 8101) },
    { litres: 49 },
  ],
  [
    'floats',
    'Top-off floats',
    'top-off-floats',
    'top-off',
    344,
    { days: 365 },
    { starts: hours(5850, 5842, 5871) },
    { starts: 17 },
    { safety: true },
  ],
  [
    'heater-b1',
    'Heater B1',
    'heater',
    'heater-1',
    807,
    { days: 730, starts: 50_000 },
    { starts: hours(20_120, 19_800, 20_900) },
    { starts: 25 },
    { safety: true, putOffDays: 6 },
  ],
  [
    'heater-b2',
    'Heater B2',
    'heater',
    'heater-2',
    807,
    { days: 730, starts: 50_000 },
    { starts: hours(45_040, 44_100, 46_300) },
    { starts: 55 },
    { safety: true },
  ],
  [
    'skimmer-body',
    'Skimmer body',
    'skimmer-body',
    'skimmer',
    162,
    { days: 180 },
    { 'on-hours': hours(3880, 3874, 3884) },
    { 'on-hours': 24 },
    { leadDays: 20 },
  ],
  [
    'return-wet-end',
    'Return pump, cleaning',
    'return-pump-clean',
    'return',
    190,
    { days: 120 },
    { 'on-hours': hours(4551, 4540, 4560) },
    { 'on-hours': 24 },
  ],
  [
    'circ-left',
    'Circulation left, cleaning',
    'circulation-clean',
    'circ-l',
    64,
    { days: 90 },
    { 'on-hours': hours(1533, 1530, 1536) },
    { 'on-hours': 24 },
  ],
  ['doser-tubes', 'Doser tubes', 'doser-tube', 'doser', 70, { 'on-hours': 350, days: 270 }, {}, {}],
  ['ph-electrode', 'pH electrode', 'ph-electrode', undefined, 517, { days: 540 }, {}, {}, { leadDays: 30 }],
  ['rcd-test', 'RCD test', 'rcd', undefined, 27, { days: 30 }, {}, {}, { safety: true }],
];

const partOf = ([id, name, kind, of, , limits, used, , more]: Row): Part => ({
  id,
  name,
  kind,
  ...(of === undefined ? {} : { equipment: of }),
  pieces: 1,
  limits: Object.entries(limits).map(([measure, amount]) => ({ measure: measure as Measure, amount })),
  safety: more?.safety ?? false,
  usageFrom: Object.fromEntries(
    [...new Set([...Object.keys(used), ...Object.keys(limits)])]
      .filter((measure) => measure !== 'days')
      .map((measure) => [measure, `${id}-${measure}`]),
  ),
  usedBefore: {},
  ...(more?.leadDays === undefined ? {} : { leadTimeMs: more.leadDays * DAY_MS }),
});

export const library: Tank = {
  name: 'Reading-room reef',
  timeZone: 'Europe/Lisbon',
  volumeL: 450,
  equipment: [
    equipment('lamp-c1', 'Fluorescent bank C1', 'fluorescent-bank'),
    equipment('lamp-c2', 'Fluorescent bank C2', 'fluorescent-bank'),
    equipment('uv', 'UV unit', 'uv-unit'),
    equipment('ro', 'RO unit', 'ro-unit'),
    equipment('top-off', 'Top-off pump', 'top-off'),
    equipment('heater-1', 'Heater B1', 'heater'),
    equipment('heater-2', 'Heater B2', 'heater'),
    equipment('skimmer', 'Skimmer', 'skimmer'),
    equipment('return', 'Return pump', 'return-pump'),
    equipment('circ-l', 'Circulation left', 'circulation-pump'),
    equipment('doser', 'Doser', 'dosing-pump'),
  ],
  sensors: [],
  parts: LEDGER.map(partOf),
  counters: [],
  people: [{ name: 'Ana' }],
  notifyServices: [],
};

const usagesOf = (row: Row): readonly Usage[] => {
  const [, , , , age, limits, used] = row;
  const fittedAt = NOW - age * DAY_MS;
  return [...new Set([...Object.keys(limits), ...Object.keys(used)])].map((name) => {
    const measure = name as Measure;
    if (measure === 'days') return { measure, low: age, best: age, high: age, countingSince: fittedAt };
    const [low, best, high] = used[measure] ?? [0, 0, 0];
    return { measure, low, best, high, countingSince: used[measure] === undefined ? null : fittedAt };
  });
};

const settings = { nearShare: 0.95, nearMs: 21 * DAY_MS, laterMs: 7 * DAY_MS };

export const standings = LEDGER.map((row) => {
  const part = partOf(row);
  const [, , , , age, , , perDay, more] = row;
  return standingOf({
    part,
    life: { part: part.id, number: 2, fittedAt: NOW - age * DAY_MS, fittedBy: 'Ana' },
    usages: usagesOf(row),
    dailyUse: Object.fromEntries(
      Object.entries(perDay).map(([measure, n]) => [measure, new Array<number>(28).fill(n)]),
    ),
    now: NOW,
    settings,
    timeZone: library.timeZone,
    putOff: more?.putOffDays === undefined ? null : { until: NOW + more.putOffDays * DAY_MS, by: 'Ana' },
  });
});

export const usages: readonly PartShown[] = LEDGER.map((row) => ({
  part: row[0],
  name: row[1],
  life: 2,
  fittedAt: NOW - row[4] * DAY_MS,
  measures: usagesOf(row).map((usage) => ({
    ...usage,
    unit: MEASURE_UNITS[usage.measure],
    limit: row[5][usage.measure] ?? null,
  })),
}));

const step = (id: string, text: string, rule: string, more: Partial<SessionShown['steps'][number]> = {}) => ({
  id,
  text,
  rule,
  why: 'a temporarily low level looks like evaporation',
  needed: 3 as const,
  evidence: null,
  evidenceText: '',
  result: 'pending' as const,
  ...more,
});

/** A skimmer service that waits for the plug to be pulled. */
export const session: SessionShown = {
  id: 's-17',
  procedure: 'skimmer-service',
  title: 'Skimmer service',
  status: 'held',
  startedBy: 'Ana',
  step: 3,
  steps: [
    step('check', 'Level normal, no leak, no other session', 'P3', {
      result: 'passed',
      evidence: 2,
      evidenceText: 'level 20.0 cm 4 s ago',
    }),
    step('off:top-off', 'Top-off pump off', 'K1', {
      result: 'passed-unproven',
      evidence: 2,
      evidenceText: 'idles at 0 W: reported off, not proven',
    }),
    step('off:skimmer', 'Skimmer off', 'K34', {
      result: 'passed',
      evidence: 3,
      evidenceText: 'relay off 6 s ago, 0.4 W in 3 readings over 12 s',
    }),
    step('unplug:skimmer', 'Unplug the skimmer and keep the plug with you', 'K17', { result: 'open', needed: 6 }),
    step(
      'lift',
      'Lift the skimmer out over a tray; pour the water of its body back into the sump, it is salt water',
      'P3',
      { needed: 5 },
    ),
    step('plug-in:skimmer', 'Plug the skimmer in, hands out, release the claim', 'K17', { needed: 5 }),
    step('on:skimmer', 'Skimmer on at its lowest setting', 'K8'),
    step('on:top-off', 'Top-off pump back, last', 'K22'),
  ],
  prompt: {
    step: 'unplug:skimmer',
    nonce: 'n-4711',
    appearedAt: NOW - 5000,
    text: 'Unplug the skimmer now, keep the plug with you, then confirm "unplugged".',
  },
  hold: null,
  claims: [{ equipment: 'Skimmer', person: 'Ana' }],
  outOfService: ['Top-off pump', 'Skimmer'],
  cautions: ['Salt water and mains kill: dry hands, no reaching for wet plugs.'],
  notes: ['The drain-down of this tank is not learned yet.'],
  summary: '',
};

export const input: PublishInput = {
  tank: library,
  prefix: 'slackwater',
  standings,
  usages,
  session: null,
  version: '0.1.0',
};
