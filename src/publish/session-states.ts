import { entityNames, titleOf } from './names.ts';
import {
  ISOLATION_CAUTION,
  isSessionOver,
  RESULT_WORDS,
  RUNG_WORDS,
  type SessionShown,
  STATUS_WORDS,
  type StepShown,
} from './shown.ts';
import type { PublishInput, StateShown } from './states.ts';

const iso = (at: number): string => new Date(at).toISOString();

const isOff = ({ claims, outOfService }: SessionShown): boolean => claims.length > 0 || outOfService.length > 0;

/** The session, the flag others respect, and whether a confirmation is awaited. */
export const sessionStates = ({ prefix, session }: PublishInput): readonly StateShown[] => {
  const names = entityNames(prefix);
  const title = titleOf(prefix);
  const isOpen = session !== null && !isSessionOver(session.status);
  // Whatever is claimed or not back keeps the flag on, also after the session's end.
  const inService = session === null || !isOff(session);
  return [
    {
      entity: names.session,
      state: session?.status ?? 'none',
      attributes: {
        friendly_name: `${title} session`,
        icon: session === null ? 'mdi:hand-back-right-off-outline' : STATUS_ICONS[session.status],
        ...(session === null ? {} : sessionAttributes(session)),
      },
    },
    {
      entity: names.inProgress,
      state: (isOpen && session.status !== 'idle') || !inService ? 'on' : 'off',
      attributes: {
        friendly_name: `${title} service in progress`,
        icon: 'mdi:hand-back-right-outline',
        out_of_service: session?.outOfService ?? [],
        claims: session?.claims ?? [],
      },
    },
    {
      entity: names.asking,
      state: isOpen && session.prompt !== null ? 'on' : 'off',
      attributes: { friendly_name: `${title} confirmation awaited`, icon: 'mdi:gesture-tap-button' },
    },
    {
      entity: names.valueAwaited,
      state: isOpen && session.prompt?.asks !== undefined ? 'on' : 'off',
      attributes: {
        friendly_name: `${title} value awaited`,
        icon: 'mdi:form-textbox',
        ...(isOpen ? session.prompt?.asks : {}),
      },
    },
  ];
};

const STATUS_ICONS: Readonly<Record<SessionShown['status'], string>> = {
  idle: 'mdi:clipboard-text-outline',
  running: 'mdi:progress-wrench',
  held: 'mdi:hand-back-right',
  restarting: 'mdi:restore',
  complete: 'mdi:check-circle-outline',
  stopped: 'mdi:stop-circle-outline',
  aborting: 'mdi:alert-octagon',
  aborted: 'mdi:alert-octagon-outline',
};

const sessionAttributes = (session: SessionShown): Readonly<Record<string, unknown>> => {
  const open = session.steps[session.step];
  return {
    session: session.id,
    procedure: session.procedure,
    title: session.title,
    status_text: STATUS_WORDS[session.status],
    started_by: session.startedBy,
    step: session.prompt?.step ?? open?.id ?? null,
    step_number: session.step + 1,
    step_count: session.steps.length,
    step_text: open?.text ?? null,
    needed: open === undefined ? null : RUNG_WORDS[open.needed],
    prompt: session.prompt?.text ?? null,
    // A press counts only for what was shown with it.
    nonce: session.prompt?.nonce ?? null,
    appeared_at: session.prompt === null ? null : iso(session.prompt.appearedAt),
    // What is to be typed, in which unit, between which values; null where a plain answer does.
    asks: session.prompt?.asks ?? null,
    hold: session.hold?.text ?? null,
    hold_reason: session.hold?.reason ?? null,
    hold_since: session.hold === null ? null : iso(session.hold.since),
    claims: session.claims,
    out_of_service: session.outOfService,
    // As long as anything is off or in somebody's hands, also after an abort.
    left_out: (session.leftOut ?? []).map(({ name, since, title, driver }) => ({
      name,
      since: iso(since),
      left_by: title,
      ...(driver === undefined ? {} : { without: driver }),
    })),
    cautions:
      isSessionOver(session.status) && !isOff(session) ? [] : [...new Set([ISOLATION_CAUTION, ...session.cautions])],
    notes: session.notes,
    summary: session.summary === '' ? null : session.summary,
    steps: session.steps.map((step, index) => stepLine(step, index)),
  };
};

const cut = (text: string, most: number): string => (text.length <= most ? text : `${text.slice(0, most - 3)}...`);

/** The plan before the start and the evidence after, in one list: what, why, how far. */
const stepLine = (step: StepShown, index: number): Readonly<Record<string, unknown>> => ({
  n: index + 1,
  text: cut(step.text, 160),
  rule: step.rule,
  result: RESULT_WORDS[step.result],
  // Waits and hand-overs need no proof of their own.
  needed: step.needed === 0 ? '' : RUNG_WORDS[step.needed],
  reached: step.evidence === null ? '' : RUNG_WORDS[step.evidence],
  evidence: cut(step.evidenceText, 120),
});
