import { memoryEntries, recalled, type SessionState, type StepRecord } from '../../../src/procedure/index.ts';
import type { Sitting } from './sitting.ts';
import { REPORT_EVERY_MS, TICK_MS, type World } from './world.ts';

// Two sittings are the same where nothing that is still to come can tell them apart: times count by their age, and by no
// more than the longest age anything waits for; words, spent answers and past steps' texts do not count.

const T_MIN = Date.UTC(2026, 0, 1);
/** In looks; nothing in the small plan waits longer than half an hour. */
const OLDEST = 100;

export function canonical(sitting: Sitting, more: string): string {
  const { state, world } = sitting;
  const { at } = world;
  const age = (value: number): number => Math.min(OLDEST, Math.round((at - value) / TICK_MS));
  return [
    more,
    state.status,
    state.stepIndex,
    state.hold === null ? '' : `${state.hold.reason}${age(state.hold.since)}`,
    state.prompt === null ? '' : `${state.prompt.step}${age(state.prompt.appearedAt)}${state.prompt.text}`,
    state.records.map((record, index) => recordKey(state, record, index, age)).join(','),
    state.claims.map((claim) => `${claim.equipment}${claim.person}${age(claim.since)}`).join(','),
    state.offNow.join(','),
    Object.entries(state.readings)
      .map(([entity, reading]) => `${entity}${reading.value}@${reported(state, reading.reportedAt, age)}`)
      .sort()
      .join(','),
    Object.entries(state.baseline).join(';'),
    memoryKey(state, age),
    worldKey(world, age),
  ].join('|');
}

/** A report is fresh for two minutes; later only whether it came after a stop or a claim can count. */
function reported(state: SessionState, at: number, age: Age): string {
  const looks = age(at);
  if (looks <= 7) return String(looks);
  const offs = state.offNow.map((id) => (Number(recalled(state.memory, `offAt.${id}`) ?? 0) < at ? 1 : 0)).join('');
  return `old${offs}${state.claims.map((claim) => (claim.since < at ? 1 : 0)).join('')}`;
}

type Age = (value: number) => number;

function recordKey(state: SessionState, record: StepRecord, index: number, age: Age): string {
  if (record.result === 'pending') return '';
  const open = index === state.stepIndex;
  const times = open && record.openedAt !== null ? age(record.openedAt) : '';
  // A step that another one counts from is remembered with its age.
  const counted = state.plan.steps.some((step, at) => at >= state.stepIndex && step.waitFrom === record.id);
  const closed = counted && record.closedAt !== null ? age(record.closedAt) : '';
  return `${record.result}${open ? record.tries : ''}${open ? (record.evidence ?? '') : ''}:${times}:${closed}`;
}

/** For how many looks a time in the engine's memory can still matter; nothing named here matters for long. */
const MATTERS: readonly (readonly [start: string, looks: number])[] = [
  ['told.', 0],
  ['onSent.', 0],
  ['proved.', 0],
  ['revived.', 0],
  ['refreshedAt', 1],
  ['lastOnAt', 2],
  ['died.', 4],
  ['upsetAt', 8],
  ['takenAt.', 7],
  ['flow.', 4],
  ['lv.at', 7],
  ['lv.since', 8],
];

function memoryKey(state: SessionState, age: Age): string {
  const parts: string[] = [];
  const opened = state.records[state.stepIndex]?.openedAt ?? 0;
  for (const [key, value] of memoryEntries(state.memory)) {
    if (key === 'beganBy') continue;
    if (typeof value === 'string' && value.startsWith('[[')) {
      const samples = JSON.parse(value) as [number, number][];
      parts.push(`${key}=${samples.map(([when, watts]) => `${age(when)}/${watts}`).join('+')}`);
    } else if (typeof value === 'number' && value > T_MIN) {
      // A step counts from its own opening where that is later than the last resume; what is back on, no longer from its stop.
      if (key === 'resumedAt' && value < opened && state.status === 'running') continue;
      if (key.startsWith('offAt.') && !state.offNow.includes(key.slice(6))) continue;
      const looks = MATTERS.find(([start]) => key.startsWith(start))?.[1] ?? OLDEST;
      parts.push(`${key}=${Math.min(age(value), looks)}`);
    } else parts.push(`${key}=${value}`);
  }
  return parts.sort().join(';');
}

function worldKey(world: World, age: Age): string {
  const { at: _at, backAt, said: _said, plugs, acks, ...plain } = world;
  const back = backAt === null ? '' : -age(backAt);
  const answers = acks.map((ack) => `${ack.command.equipment}${ack.command.turn}${ack.outcome}`).join(',');
  const phase = world.at % REPORT_EVERY_MS;
  return `${JSON.stringify(plain)}${JSON.stringify(plugs)}${back}${answers}${phase}`;
}
