import { didYouMean, listWords, problem } from '../errors/index.ts';
import type { Actor, AnsweredQuestion, Equipment, EquipmentId, Tank } from '../model/index.ts';
import type { HubPort, StorePort, System } from '../ports/index.ts';
import {
  type AcclimationContext,
  type AcclimationEffect,
  type AcclimationInput,
  type AcclimationState,
  acclimationStep,
  isDisplayLamp,
  judgeStart,
  lampOf,
  lastDay,
  lightPlanAt,
  type Programme,
  programmeLine,
  restoredProgrammes,
  whyNotRun,
} from '../procedure/acclimation/index.ts';
import type { SessionState } from '../procedure/index.ts';
import { actorName } from '../record/index.ts';
import { formatInstant, type InstantMs } from '../units/index.ts';
import { hoursFor, knownHours, shownHours } from './acclimation-hours.ts';
import type { createAlarms } from './alarms.ts';
import type { Loop } from './loop.ts';
import type { AcclimationView, AttentionLine } from './protection-types.ts';

export type Acclimating = {
  step(input: AcclimationInput): void;
  /** Lamps whose driver rests for a programme: nothing of that is forgotten. */
  lamps(): readonly EquipmentId[];
  start(lamp: EquipmentId, by: Actor, hours?: string): AcclimationView;
  stop(lamp: EquipmentId, by: Actor): AcclimationView;
  /** A session that gave a lamp new tubes is over: the keeper is asked once whether its light is to be run. */
  offer(session: SessionState): void;
  answered(question: AnsweredQuestion, choice: string, by: Actor): void;
  views(): readonly AcclimationView[];
  attention(): readonly AttentionLine[];
};

type Deps = {
  readonly ctx: AcclimationContext;
  readonly tank: Tank;
  readonly hub: Pick<HubPort, 'command' | 'driver'>;
  readonly store: StorePort;
  readonly system: System;
  readonly loop: Loop;
  readonly alarms: ReturnType<typeof createAlarms>;
  readonly refresh: (entities: readonly string[]) => void;
  readonly onChange: () => void;
};

const codeOf = (lamp: EquipmentId): string => `acclimation_${lamp}`;
const questionId = (lamp: EquipmentId): string => `acclimation-${lamp}`;

export function createAcclimating(deps: Deps): Acclimating {
  const { ctx, tank, store, system, alarms, onChange } = deps;
  const now = (): InstantMs => system.clock.now();
  let state = restoredProgrammes(keptIn(store), now());
  const step = (input: AcclimationInput): void => {
    const before = state;
    const [next, effects] = acclimationStep(state, input, ctx);
    state = next;
    // All of it on disk before anything goes out.
    for (const effect of effects) if (effect.kind === 'keep') keep(deps, effect.programme, before);
    for (const effect of effects) perform(deps, effect, step);
    if (effects.some(({ kind }) => kind === 'keep')) onChange();
  };
  const known = (lamp: Equipment) => knownHours(lamp, tank, store, now());
  const view = (lamp: Equipment): AcclimationView => viewOf(lamp, state, deps, known(lamp));
  const begin = (id: EquipmentId, by: Actor, said?: string): AcclimationView => {
    if (by.kind !== 'person') throw problem('SW-SES-007', { what: 'giving the light of a lamp to the service' });
    const lamp = lampNamed(id, tank);
    const cannot = whyNotRun(lamp);
    if (cannot !== null) throw problem('SW-ACC-002', { name: lamp.name, why: cannot });
    if (!judgeStart(state, id, ctx).ok) {
      const since = state.programmes[id]?.startedAt ?? now();
      throw problem('SW-ACC-004', { name: lamp.name, since: formatInstant(since, tank.timeZone) });
    }
    const hours = hoursFor(lamp, said, () => known(lamp));
    step({ kind: 'start', at: now(), lamp: id, by: actorName(by), hours });
    return view(lamp);
  };
  return {
    step,
    start: (id, by, said) => {
      const begun = begin(id, by, said);
      // Nobody has to answer any more.
      const answer = { at: now(), by: actorName(by), choice: 'started' };
      if (store.answerQuestion(questionId(id), answer)) alarms.over(questionId(id));
      return begun;
    },
    lamps: () => running(state).map(({ lamp }) => lamp),
    stop: (id, by) => {
      if (by.kind !== 'person') throw problem('SW-SES-007', { what: 'ending the light programme of a lamp' });
      const lamp = running(state).some((one) => one.lamp === id) ? gone(id, tank) : lampNamed(id, tank);
      if (!running(state).some((one) => one.lamp === id)) throw problem('SW-ACC-005', { name: lamp.name });
      step({ kind: 'stop', at: now(), lamp: id, by: actorName(by) });
      return view(lamp);
    },
    offer: (session) => offerAfter(deps, session, (id) => judgeStart(state, id, ctx).ok, known),
    answered: ({ kind, equipment }, choice, by) => {
      if (kind !== 'acclimation' || equipment === undefined) return;
      if (choice === 'yes') begin(equipment, by);
      alarms.over(questionId(equipment));
    },
    views: () => tank.equipment.filter(isDisplayLamp).map(view),
    attention: () => running(state).map((one) => attentionOf(one, state, ctx)),
  };
}

const running = (state: AcclimationState): readonly Programme[] =>
  Object.values(state.programmes).filter(({ status }) => status !== 'over');

/** The last word on each lamp. */
function keptIn(store: StorePort): readonly Programme[] {
  const last = new Map<EquipmentId, Programme>();
  for (const { entry } of store.journal(['acclimation']))
    if (entry.kind === 'acclimation') last.set(entry.lamp, entry.programme);
  return [...last.values()];
}

function keep({ store, system }: Deps, programme: Programme, before: AcclimationState): void {
  const { lamp, status } = programme;
  const was = before.programmes[lamp]?.status;
  const isNew = was === undefined || (was === 'over' && status !== 'over');
  const change = isNew ? 'started' : status === 'over' ? 'ended' : 'kept';
  store.append({ v: 1, kind: 'acclimation', at: system.clock.now(), change, lamp, programme });
}

function perform(deps: Deps, effect: AcclimationEffect, step: (input: AcclimationInput) => void): void {
  const { hub, system, loop, alarms, refresh } = deps;
  switch (effect.kind) {
    case 'keep':
      return;
    case 'switch': {
      const { lamp, entity, turn } = effect;
      // How it ended proves nothing: the plug is read.
      void hub
        .command({
          ...{ session: `acclimation:${lamp}`, step: 'light', equipment: lamp, entity, turn },
          programme: true,
        })
        .then(({ outcome, detail }) => {
          if (outcome !== 'confirmed') system.log.warn(`light of ${lamp}: ${outcome}, ${detail}`);
        });
      return;
    }
    case 'driver': {
      const { lamp, entity, turn } = effect;
      void hub
        .driver(entity, turn)
        .then(({ outcome, detail }) =>
          loop.enqueue('driver of a lamp', () =>
            step({ kind: 'driver-ended', at: system.clock.now(), lamp, outcome, detail }),
          ),
        );
      return;
    }
    case 'refresh':
      refresh(effect.entities);
      return;
    case 'say':
      alarms.notice(codeOf(effect.lamp), 'Slackwater: light of new lamps', effect.text);
      return;
    case 'alarm':
      alarms.raise(codeOf(effect.lamp), effect.text);
      return;
    case 'alarm-over':
      alarms.over(codeOf(effect.lamp));
  }
}

function lampNamed(id: EquipmentId, tank: Tank): Equipment {
  const found = tank.equipment.find((one) => one.id === id);
  if (found !== undefined) return found;
  const lamps = tank.equipment.filter(isDisplayLamp).map((one) => one.id);
  const hint = didYouMean(id, lamps, 'See `slackwater acclimation status`.');
  throw problem('SW-ACC-001', { found: id, known: lamps.length === 0 ? 'none' : listWords(lamps), hint });
}

/** A lamp that is no longer configured can still be let go. */
const gone = (id: EquipmentId, tank: Tank): Equipment =>
  tank.equipment.find((one) => one.id === id) ?? {
    ...{ id, name: id, role: 'led-lamp', cycling: false, inSump: false, switchDelayMs: 0 },
    driver: { kind: 'always-on' },
  };

function offerAfter(
  deps: Deps,
  session: SessionState,
  isFree: (lamp: EquipmentId) => boolean,
  known: (lamp: Equipment) => ReturnType<typeof knownHours>,
): void {
  const { ctx, tank, store, system, alarms } = deps;
  if (session.status !== 'complete') return;
  for (const id of session.plan.handled) {
    const lamp = tank.equipment.find((one) => one.id === id);
    if (lamp === undefined || ctx.lamps[id] === undefined || !isFree(id)) continue;
    const asked = store
      .questions('all')
      .some((one) => one.kind === 'acclimation' && one.facts?.['session'] === session.id && one.equipment === id);
    if (asked) continue;
    const { hours, why } = known(lamp);
    const percent = Math.round(ctx.startShare * 100);
    const plan = `${percent} % of its light on the first day, all of it on day ${lastDay(ctx)}`;
    const text =
      hours === null
        ? `Run the light of ${lamp.name} for its new lamps: ${plan}? Its usual hours are not known (${why}): start it with \`slackwater acclimation start ${id} --hours 09:30-18:30\`, its own hours in place of these. "no" leaves it to its driver.`
        : `Run the light of ${lamp.name} for its new lamps: ${plan}, from the usual beginning of ${shownHours({ hours, why: null }).hours}? "yes" takes it over from ${ctx.lamps[id]?.driverEntity} until then; "no" leaves it to that, at full hours.`;
    const question = {
      id: questionId(id),
      kind: 'acclimation',
      askedAt: system.clock.now(),
      equipment: id,
      text,
    } as const;
    if (!store.putQuestion({ ...question, facts: { session: session.id } })) continue;
    alarms.notice(questionId(id), 'Slackwater asks', `${text} Answer with: slackwater answer ${questionId(id)} yes`);
  }
}

function viewOf(
  lamp: Equipment,
  state: AcclimationState,
  { ctx, tank }: Deps,
  known: ReturnType<typeof knownHours>,
): AcclimationView {
  const one = state.programmes[lamp.id];
  const base = { lamp: lamp.id, name: lamp.name, cannot: whyNotRun(lamp), ...shownHours(known) };
  if (one === undefined) return { ...base, text: `${lamp.name} is left to its driver`, programme: null };
  const { day, share, beginsAt, outAt } = lightPlanAt(one, state.at, tank.timeZone);
  const { status, startedAt, startedBy, driver, trouble, why } = one;
  return {
    ...base,
    text: programmeLine(one, state, ctx),
    programme: {
      ...{ status, startedAt, startedBy, day, ofDays: lastDay(one), share, from: beginsAt, to: outAt },
      ...{ driver, trouble, why },
    },
  };
}

function attentionOf(one: Programme, state: AcclimationState, ctx: AcclimationContext): AttentionLine {
  const base = { kind: 'acclimation', id: codeOf(one.lamp), since: one.startedAt } as const;
  if (lampOf(one, ctx) === null) {
    const text = `${one.lamp}: its light was run by the service, and lamp or driver are configured otherwise now: nothing switches it`;
    return { ...base, text, toDo: `Resume ${one.driver} by hand, then: slackwater acclimation stop ${one.lamp}` };
  }
  return { ...base, text: programmeLine(one, state, ctx), toDo: one.trouble ?? '' };
}
