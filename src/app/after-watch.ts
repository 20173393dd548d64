import type { StorePort, System } from '../ports/index.ts';
import {
  type AfterWatchContext,
  type AfterWatchEffect,
  type AfterWatchInput,
  type AfterWatchState,
  afterWatchStep,
  NOTHING_WATCHED,
  restoredWatches,
  watchLine,
} from '../procedure/guards/index.ts';
import type { SessionState } from '../procedure/index.ts';
import { DAY_MS, type InstantMs, MINUTE_MS } from '../units/index.ts';
import type { createAlarms } from './alarms.ts';
import { answerWith, createAsking } from './asking.ts';
import type { AttentionLine } from './protection-types.ts';
import { isOver } from './session-runner.ts';

/** Setting of the store: what the watches have gathered so far. That they run stands in the journal. */
const KEPT = 'after watch';

export type AfterWatching = {
  step(input: AfterWatchInput): void;
  /** A session changed: while it is open nothing is judged, and from its end on it is watched. */
  session(state: SessionState, at: InstantMs): void;
  /** After a start: a session that ended just before the service did is watched like any other. */
  recover(state: SessionState | null): void;
  attention(): readonly AttentionLine[];
  save(): void;
};

export function createAfterWatching(deps: {
  readonly ctx: AfterWatchContext;
  readonly store: StorePort;
  readonly system: System;
  readonly alarms: ReturnType<typeof createAlarms>;
  readonly onChange: () => void;
}): AfterWatching {
  const { ctx, store, system, alarms, onChange } = deps;
  const asking = createAsking(deps);
  const records = store.journal(['after-watch']).flatMap(({ entry }) => (entry.kind === 'after-watch' ? [entry] : []));
  const watches = restoredWatches(records, kept(store.setting(KEPT)));
  let state: AfterWatchState = { ...NOTHING_WATCHED, watches };
  let savedAt = system.clock.now();
  let saved = state.watches;
  const begun = new Set(records.map(({ session }) => session));

  const save = (): void => {
    if (saved === state.watches) return;
    saved = state.watches;
    savedAt = system.clock.now();
    store.putSetting(KEPT, JSON.stringify(state.watches));
  };
  const perform = (effect: AfterWatchEffect): void => {
    switch (effect.kind) {
      case 'record': {
        const { change, session, text, watch } = effect;
        store.append({ v: 1, kind: 'after-watch', at: system.clock.now(), change, session, text, watch });
        onChange();
        return;
      }
      case 'say':
        alarms.notice(`after_${effect.session}`, 'Slackwater', effect.text);
        return;
      case 'ask':
        asking.ask({ id: `not-back-${effect.session}`, kind: 'not-back', text: effect.text });
        return;
      case 'alarm':
        alarms.raise(effect.code, effect.text);
        return;
      case 'alarm-over':
        alarms.over(effect.code);
    }
  };
  const step = (input: AfterWatchInput): void => {
    const [next, effects] = afterWatchStep(state, input, ctx);
    state = next;
    for (const effect of effects) perform(effect);
    if (effects.length > 0 || system.clock.now() - savedAt >= MINUTE_MS / ctx.timeFactor) save();
  };
  const over = (session: SessionState, at: InstantMs): void => {
    // Never begun: nothing was switched, so there is nothing to compare.
    const ran = session.records.some(({ result }) => result !== 'pending');
    if (begun.has(session.id) || !ran) return;
    begun.add(session.id);
    step({ kind: 'session-over', at, session });
  };
  return {
    step,
    save,
    session: (session, at) => {
      if (isOver(session)) over(session, at);
      else if (session.status !== 'idle') step({ kind: 'session-open', at });
    },
    recover: (session) => {
      const now = system.clock.now();
      if (session === null) return;
      if (!isOver(session)) step({ kind: 'session-open', at: now });
      else if (now - (session.endedAt ?? 0) < DAY_MS / ctx.timeFactor) over(session, now);
    },
    attention: () => {
      const now = system.clock.now();
      const open = state.watches.map((watch): AttentionLine => {
        const text = watchLine(watch, now, ctx.timeFactor);
        return { kind: 'after-watch', id: watch.session, since: watch.from, text, toDo: '' };
      });
      const asked = store.questions('open').filter(({ kind }) => kind === 'not-back');
      const lines = asked.map(({ id, askedAt, text }): AttentionLine => {
        return { kind: 'after-watch', id, since: askedAt, text, toDo: answerWith('Answer', id) };
      });
      return [...lines, ...open];
    },
  };
}

function kept(text: string | null): AfterWatchState['watches'] {
  if (text === null) return [];
  try {
    return JSON.parse(text) as AfterWatchState['watches'];
  } catch {
    return [];
  }
}
