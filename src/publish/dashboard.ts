import { parse } from 'yaml';
import { problem } from '../errors/index.ts';
import type { EntityId, Measure, Part, RoleId, Tank } from '../model/index.ts';
import { MEASURE_UNITS } from '../model/index.ts';
import { measureWord } from '../remind/index.ts';
import { formatNumber, showAmount } from '../units/index.ts';
import { buttonNames, lampsToRun, type ProcedureShown } from './buttons.ts';
import { entityNames, titleOf } from './names.ts';

export type DashboardInput = {
  readonly tank: Tank;
  readonly prefix: string;
  readonly procedures: readonly ProcedureShown[];
  /** Our button names → entity ids the hub gave them. */
  readonly buttons: ReadonlyMap<string, EntityId>;
  /** Where the hub is to show it, as in `/slackwater-tank`. */
  readonly page: string;
  /** dashboards/slackwater.yaml as text. */
  readonly template: string;
};

type Scope = { readonly [name: string]: string | Scope | readonly Scope[] };

/**
 * The dashboard for one tank, as the hub's storage takes it. In the template `[[name]]` stands for a value, and a list
 * entry with `for-each: NAME` and `show:` is repeated for each of them; a list inside a list is laid out in place.
 * Nothing else is special, so the template can be read beside the hub's own documentation of its cards.
 */
export const dashboardFor = (input: DashboardInput): Readonly<Record<string, unknown>> => {
  const template = parsed(input.template);
  const rendered = render(template, scopeOf(input), 'dashboard');
  return rendered as Readonly<Record<string, unknown>>;
};

const parsed = (text: string): Readonly<Record<string, unknown>> => {
  let value: unknown;
  try {
    value = parse(text, { merge: true });
  } catch (error) {
    const [first = ''] = String(error instanceof Error ? error.message : error).split('\n');
    throw problem('SW-PUB-001', { where: 'file', found: first.replace(/[.:]$/, ''), expected: 'YAML' });
  }
  if (!isMap(value) || !Array.isArray(value['views']))
    throw problem('SW-PUB-001', { where: 'file', found: 'no views', expected: 'a list under `views`' });
  return value;
};

const isMap = (value: unknown): value is Readonly<Record<string, unknown>> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

const render = (node: unknown, scope: Scope, where: string): unknown => {
  if (typeof node === 'string') return filled(node, scope, where);
  if (Array.isArray(node)) return node.flatMap((item, index) => renderItem(item, scope, `${where}[${index}]`));
  if (!isMap(node)) return node;
  return Object.fromEntries(Object.entries(node).map(([key, value]) => [key, render(value, scope, `${where}.${key}`)]));
};

const renderItem = (item: unknown, scope: Scope, where: string): readonly unknown[] => {
  if (Array.isArray(item)) return render(item, scope, where) as readonly unknown[];
  if (!isMap(item) || typeof item['for-each'] !== 'string') return [render(item, scope, where)];
  const name = item['for-each'];
  const list = scope[`${name}s`] ?? scope[name];
  if (!Array.isArray(list))
    throw problem('SW-PUB-001', { where, found: `for-each: ${name}`, expected: namesIn(scope) });
  return list.flatMap((one: Scope) => {
    const inner = { ...scope, ...one, [name]: one };
    const shown = render([item['show']].flat(), inner, `${where}.show`);
    return shown as readonly unknown[];
  });
};

const namesIn = (scope: Scope): string => `one of ${Object.keys(scope).join(', ')}`;

const filled = (text: string, scope: Scope, where: string): string =>
  text.replace(/\[\[([a-z_.]+)\]\]/g, (whole, path: string) => {
    let at: Scope[string] | undefined = scope;
    for (const name of path.split('.'))
      at = typeof at === 'object' && !Array.isArray(at) ? (at as Scope)[name] : undefined;
    if (typeof at !== 'string') throw problem('SW-PUB-001', { where, found: whole, expected: namesIn(scope) });
    return at;
  });

const scopeOf = (input: DashboardInput): Scope => {
  const { tank, prefix } = input;
  const names = entityNames(prefix);
  return {
    title: titleOf(prefix),
    tank: tank.name,
    service: names.service,
    due: names.due,
    session: names.session,
    in_progress: names.inProgress,
    asking: names.asking,
    confirm: buttonOf(input, buttonNames.confirm),
    abort: buttonOf(input, buttonNames.abort),
    value: buttonOf(input, buttonNames.value),
    value_awaited: names.valueAwaited,
    page: input.page,
    ...procedureScopes(input),
    parts: tank.parts.map((part) => partScope(input, part)),
    groups: groupsOf(input),
    attention: names.attention,
    ...lightScope(input),
  };
};

/** Most useful first: what serves a due part, what is done now and then, what is seldom needed, what an accident asks for. */
const procedureScopes = (input: DashboardInput): Scope => {
  const { standing } = entityNames(input.prefix);
  const scopes = input.procedures.map(({ id, title, occasion, parts }) => ({
    ...{ name: title, start: buttonOf(input, buttonNames.start(id)), occasion },
    parts: parts.map((part) => ({ standing: standing(part) })),
  }));
  const on = (occasion: string) => scopes.filter((one) => one.occasion === occasion);
  return {
    serving: scopes.filter(({ parts }) => parts.length > 0),
    // What no part calls for is looked for here alone.
    routine: on('routine').toSorted((a, b) => Math.min(a.parts.length, 1) - Math.min(b.parts.length, 1)),
    rare: on('rare'),
    emergency: on('emergency'),
  };
};

/** One section, where there is a lamp whose light the service can run. */
const lightScope = (input: DashboardInput): Scope => {
  const lamps = lampsToRun(input.tank).map(({ id, name }) => ({
    name,
    start: buttonOf(input, buttonNames.lightStart(id)),
    stop: buttonOf(input, buttonNames.lightStop(id)),
  }));
  return { lamps, lightings: lamps.length === 0 ? [] : [{ title: 'Light of new lamps' }] };
};

const buttonOf = ({ buttons }: DashboardInput, button: string): EntityId => {
  const entity = buttons.get(button);
  if (entity === undefined) throw problem('SW-PUB-002', { button });
  return entity;
};

const MEASURE_TITLES: Readonly<Record<Measure, string>> = {
  'on-hours': 'Hours',
  starts: 'Starts',
  litres: 'Litres',
  energy: 'Energy',
  days: 'Age',
  grams: 'Dissolved solids',
  actuations: 'Actuations',
};

const partScope = (input: DashboardInput, part: Part): Scope => {
  const names = entityNames(input.prefix);
  const counted = new Set<Measure>(part.limits.map((limit) => limit.measure));
  for (const measure of Object.keys(part.usageFrom)) counted.add(measure as Measure);
  return {
    name: part.name,
    standing: names.standing(part.id),
    done: buttonOf(input, buttonNames.done(part.id)),
    later: buttonOf(input, buttonNames.later(part.id)),
    measures: [...counted].map((measure) => {
      const limit = part.limits.find((one) => one.measure === measure);
      const word = measure === 'on-hours' ? ` ${measureWord(measure, part)}` : '';
      const of = limit === undefined ? ', no limit' : ` of ${limitText(measure, limit.amount)}`;
      return { name: `${MEASURE_TITLES[measure]}${word}${of}`, usage: names.usage(part.id, measure) };
    }),
  };
};

/** Starts are named as such already. */
const limitText = (measure: Measure, amount: number): string =>
  measure === 'starts' || measure === 'actuations'
    ? formatNumber(amount, 0)
    : showAmount(amount, MEASURE_UNITS[measure]);

/** Wear is grouped by the equipment a keeper sees in the cabinet; parts of none come last. */
const groupsOf = (input: DashboardInput): readonly Scope[] => {
  const { tank } = input;
  const known = new Set(tank.equipment.map((one) => one.id));
  const groups = tank.equipment.map((equipment) => ({
    name: equipment.name,
    icon: ROLE_ICONS[equipment.role],
    parts: tank.parts.filter((part) => part.equipment === equipment.id),
  }));
  const rest = tank.parts.filter((part) => part.equipment === undefined || !known.has(part.equipment));
  return [...groups, { name: 'Other parts', icon: 'mdi:dots-horizontal-circle-outline', parts: rest }]
    .filter((group) => group.parts.length > 0)
    .map((group) => ({ ...group, parts: group.parts.map((part) => partScope(input, part)) }));
};

const ROLE_ICONS: Readonly<Record<RoleId, string>> = {
  'return-pump': 'mdi:pump',
  'circulation-pump': 'mdi:waves-arrow-right',
  skimmer: 'mdi:chart-bubble',
  heater: 'mdi:radiator',
  chiller: 'mdi:snowflake',
  fan: 'mdi:fan',
  'fluorescent-bank': 'mdi:lightbulb-fluorescent-tube-outline',
  'led-lamp': 'mdi:led-strip-variant',
  'uv-unit': 'mdi:sun-wireless-outline',
  'media-reactor': 'mdi:filter-outline',
  'algae-reactor': 'mdi:sprout-outline',
  'algae-lamp': 'mdi:lightbulb-outline',
  'calcium-reactor': 'mdi:molecule-co2',
  'limewater-doser': 'mdi:bottle-tonic-outline',
  'dosing-pump': 'mdi:eyedropper',
  'top-off': 'mdi:water-plus-outline',
  'ro-unit': 'mdi:water-sync',
  'mixing-pump': 'mdi:rotate-right',
  'mixing-heater': 'mdi:heating-coil',
  feeder: 'mdi:fish',
  'air-pump': 'mdi:weather-windy',
  'battery-backup': 'mdi:battery-charging-outline',
  'hub-network': 'mdi:router-network',
};
