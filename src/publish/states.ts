import { type EntityId, MEASURE_UNITS, type Measure, type Part, type Tank } from '../model/index.ts';
import { boundedText, isDue, measureWord, type Standing, type StandingWord } from '../remind/index.ts';
import { formatNumber, type InstantMs, showAmount } from '../units/index.ts';
import { type AttentionShown, attentionStates } from './attention-states.ts';
import { fitting } from './fitting.ts';
import { entityNames, titleOf } from './names.ts';
import { sessionStates } from './session-states.ts';
import type { PartShown, SessionShown } from './shown.ts';

/** One thing shown in the hub. */
export type StateShown = {
  readonly entity: EntityId;
  readonly state: string;
  readonly attributes: Readonly<Record<string, unknown>>;
};

export type PublishInput = {
  readonly tank: Tank;
  readonly prefix: string;
  readonly standings: readonly Standing[];
  readonly usages: readonly PartShown[];
  readonly session: SessionShown | null;
  readonly attention?: readonly AttentionShown[];
  readonly version?: string;
  /** Shown to the minute, so that a page can tell that nobody updates it any more. */
  readonly now?: InstantMs;
  /** False on the way out: what stays in the hub is then no longer current. */
  readonly isRunning?: boolean;
};

/** Everything we show in the hub. Same input, same states: the edge posts only what differs from the last time. */
export const publishedStates = (input: PublishInput): readonly StateShown[] =>
  [
    serviceState(input),
    dueState(input),
    ...sessionStates(input),
    ...attentionStates(input),
    ...input.standings.map((standing) => standingState(input, standing)),
    ...input.usages.flatMap((usage) => usageStates(input, usage)),
  ].map((shown) => ({ ...shown, attributes: fitting(shown.attributes) }));

const iso = (at: InstantMs): string => new Date(at).toISOString();

const serviceState = ({ prefix, tank, version, now, isRunning }: PublishInput): StateShown => ({
  entity: entityNames(prefix).service,
  state: isRunning === false ? 'stopped' : 'running',
  attributes: {
    friendly_name: `${titleOf(prefix)} service`,
    icon: 'mdi:waves',
    tank: tank.name,
    ...(version === undefined ? {} : { version }),
    ...(now === undefined ? {} : { seen_at: iso(now - (now % 60_000)) }),
  },
});

/** Told apart by shape as well as by word. */
export const STANDING_ICONS: Readonly<Record<StandingWord, string>> = {
  fine: 'mdi:check-circle-outline',
  order: 'mdi:cart-outline',
  near: 'mdi:clock-outline',
  due: 'mdi:alert-circle',
  overdue: 'mdi:alert-octagon',
  unknown: 'mdi:help-circle-outline',
};

const partOf = (tank: Tank, id: string): Part | undefined => tank.parts.find((part) => part.id === id);

/** The sentence without the part's name, for places that show the name already. */
const withoutName = ({ reason, name }: Standing): string =>
  reason.startsWith(`${name}: `) ? reason.slice(name.length + 2) : reason;

const sharePercent = ({ share }: Standing): number | null => (share === null ? null : Math.round(share * 100));

/** "86 % of 365 d of age": the deciding limit in a few words. */
const ofLimit = (standing: Standing, part: Part | undefined): string => {
  const { measure, limit } = standing;
  if (measure === null || limit === null) return 'no limit set';
  const percent = sharePercent(standing);
  const word = part === undefined ? '' : measureWord(measure, part);
  const whole = `${limitText(measure, limit)}${word === '' ? '' : ` ${word}`}`;
  return percent === null ? 'not counted yet' : `${percent} % of ${whole}`;
};

const limitText = (measure: Measure, limit: number): string => showAmount(limit, MEASURE_UNITS[measure]);

const dueState = ({ prefix, tank, standings }: PublishInput): StateShown => {
  const line = (standing: Standing) => ({
    part: standing.part,
    name: standing.name,
    word: standing.word,
    text: withoutName(standing),
    of_limit: ofLimit(standing, partOf(tank, standing.part)),
    put_off: standing.putOffUntil !== null,
  });
  const due = standings.filter((standing) => isDue(standing.word));
  const soon = standings.filter((standing) => !isDue(standing.word) && standing.word !== 'fine');
  return {
    entity: entityNames(prefix).due,
    state: String(due.length),
    attributes: {
      friendly_name: `${titleOf(prefix)} due`,
      icon: due.length === 0 ? 'mdi:check-circle-outline' : 'mdi:alert-circle',
      overdue: due.filter((standing) => standing.word === 'overdue').length,
      lines: due.map(line),
      soon: soon.map(line),
      fine: standings.length - due.length - soon.length,
      of: standings.length,
    },
  };
};

const standingState = ({ prefix, tank }: PublishInput, standing: Standing): StateShown => {
  const { reachedAt, putOffUntil } = standing;
  return {
    entity: entityNames(prefix).standing(standing.part),
    state: standing.word,
    attributes: {
      friendly_name: standing.name,
      icon: STANDING_ICONS[standing.word],
      of_limit: ofLimit(standing, partOf(tank, standing.part)),
      reason: standing.reason,
      text: withoutName(standing),
      share_percent: sharePercent(standing),
      measure: standing.measure,
      due_at: reachedAt === null ? null : iso(reachedAt.likely),
      due_early: reachedAt === null ? null : iso(reachedAt.early),
      due_late: reachedAt === null ? null : iso(reachedAt.late),
      put_off_until: putOffUntil === null ? null : iso(putOffUntil),
    },
  };
};

const MEASURE_ICONS: Readonly<Record<Measure, string>> = {
  'on-hours': 'mdi:timer-outline',
  starts: 'mdi:restart',
  litres: 'mdi:water-outline',
  energy: 'mdi:lightning-bolt-outline',
  days: 'mdi:calendar-clock',
  grams: 'mdi:scale',
  actuations: 'mdi:toggle-switch-outline',
};

const MEASURE_NAMES: Readonly<Record<Measure, string>> = {
  'on-hours': 'hours',
  starts: 'starts',
  litres: 'litres',
  energy: 'energy',
  days: 'age',
  grams: 'dissolved solids',
  actuations: 'actuations',
};

/** As many places as are shown: a figure that changes in the tenth place only is not posted again. */
const stateText = (measure: Measure, amount: number): string => {
  const places = measure === 'starts' || measure === 'actuations' ? 0 : amount >= 100 ? 0 : amount >= 10 ? 1 : 2;
  return formatNumber(amount, places).replace(/,/g, '');
};

const roundTo = (amount: number): number => Number(amount.toPrecision(6));

/**
 * No state class: a life's usage falls to zero when the part is replaced, and the hub would take that for a meter's
 * reset. Our own store keeps the long run.
 */
const usageStates = ({ prefix, tank }: PublishInput, shown: PartShown): readonly StateShown[] =>
  shown.measures.map((usage): StateShown => {
    const { measure, limit, unit } = usage;
    const part = partOf(tank, shown.part);
    const word = part === undefined ? '' : measureWord(measure, part);
    const ofWord = word === '' || measure === 'days' ? MEASURE_NAMES[measure] : `${MEASURE_NAMES[measure]} ${word}`;
    const isKnown = usage.countingSince !== null;
    return {
      entity: entityNames(prefix).usage(shown.part, measure),
      state: isKnown ? stateText(measure, usage.best) : 'unknown',
      attributes: {
        friendly_name: `${shown.name} ${ofWord}`,
        icon: MEASURE_ICONS[measure],
        unit_of_measurement: unit,
        ...(measure === 'on-hours' || measure === 'days' ? { device_class: 'duration' } : {}),
        with_bounds: isKnown ? boundedText(usage, measure) : 'nothing counted yet',
        of_limit: limit === null ? 'no limit' : `of ${limitText(measure, limit)}`,
        low: roundTo(usage.low),
        high: roundTo(usage.high),
        limit,
        counting_since: usage.countingSince === null ? null : iso(usage.countingSince),
        fitted_at: shown.fittedAt === null ? null : iso(shown.fittedAt),
        life: shown.life,
      },
    };
  });
