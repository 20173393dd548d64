// Stores full of everything a store can hold, at random, and all that comes back from one. Shared by the tests of copies.
import assert from 'node:assert/strict';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after } from 'node:test';
import fc from 'fast-check';
import { initialStates } from '../../../../src/count/index.ts';
import { openStore } from '../../../../src/io/store/index.ts';
import { keptLog } from '../../../../src/io/system/index.ts';
import { type CounterDef, MEASURES, ORIGINS } from '../../../../src/model/index.ts';
import { initialMinutes, takeMinutes } from '../../../../src/observe/index.ts';
import type { StorePort } from '../../../../src/ports/index.ts';
import type { JournalEntry } from '../../../../src/record/index.ts';
import { DAY_MS, HOUR_MS } from '../../../../src/units/index.ts';

export const SEED = Number(process.env['STORE_SEED'] ?? 20_261_125);
export const folder = mkdtempSync(join(tmpdir(), 'slackwater-transfer-'));
after(() => rmSync(folder, { recursive: true }));

let made = 0;
export const newName = (): string => join(folder, String(made++));
export const options = { clock: { now: () => 1_000_000, monotonicMs: () => 0 }, log: keptLog() };
export const code =
  (expected: string, detail = /./) =>
  (error: Error & { code?: string }) => {
    assert.equal(error.code, expected, `${error.code}: ${error.message}`);
    assert.match(error.message, detail);
    return true;
  };
export const note = (text: string): JournalEntry => ({ v: 1, kind: 'note', at: 5, text });
export const reminder = (key: string, token: string): JournalEntry => ({
  v: 1,
  kind: 'reminder',
  at: 6,
  key,
  change: 'raised',
  token,
});
export const empty = { states: [], slices: [], resets: [], cursors: new Map() };
const COUNTERS = ['lamp', 'return pump, "left"', 'öl\nzwei'];
export const TOKENS = ['s3cret-token-one', 's3cret-token-two'];
const defs: CounterDef[] = COUNTERS.map((id) => ({
  id,
  name: id,
  source: { kind: 'on-state', entity: `switch.${id}` },
  measures: ['on-hours', 'starts'],
}));

/** Everything the port gives, with one-use tokens told apart but not told. */
export function contents(store: StorePort): unknown {
  const seen = new Map<string, number>();
  const masked = (_: string, value: unknown): unknown => {
    if (typeof value !== 'object' || value === null || !('token' in value)) return value;
    const { token, ...rest } = value;
    if (!seen.has(String(token))) seen.set(String(token), seen.size);
    return { ...rest, tokenNumber: seen.get(String(token)) };
  };
  const all = {
    states: [...store.counterStates()],
    cursors: [...store.cursors()].sort(),
    slices: COUNTERS.flatMap((counter) => MEASURES.flatMap((measure) => store.slices(counter, measure, 0))),
    resets: COUNTERS.flatMap((counter) => store.resets(counter)),
    doubts: COUNTERS.flatMap((counter) => store.doubts(counter)),
    sources: COUNTERS.flatMap((counter) => store.sources(counter)),
    minutes: store.minutePower('sensor.pump', 0, 999 * DAY_MS),
    minuteStates: [...store.minuteStates()],
    journal: store.journal(['note', 'reading', 'reminder', 'part-fitted']),
    lives: store.lives(),
    questions: store.questions('all'),
    setting: store.setting('hub last seen'),
  };
  return JSON.parse(JSON.stringify(all, masked));
}

const texts = fc.oneof(fc.string(), fc.constantFrom('', '"', ',', '\r\n', 'ä,"b"\n', '=1+1', 'null'));
const entries: fc.Arbitrary<JournalEntry> = fc.oneof(
  texts.map(note),
  fc.tuple(texts, fc.constantFrom(...TOKENS)).map(([key, token]) => reminder(key, token)),
  fc
    .tuple(texts, fc.double({ noNaN: true, noDefaultInfinity: true }), texts)
    .map(
      ([what, value, by]): JournalEntry => ({ v: 1, kind: 'reading', at: 7, what, value: value + 0, unit: 'dKH', by }),
    ),
);
const slices = fc.record({
  counter: fc.constantFrom(...COUNTERS),
  measure: fc.constantFrom(...MEASURES),
  hour: fc.nat(3_000).map((hour) => hour * HOUR_MS),
  origin: fc.constantFrom(...ORIGINS),
  add: fc
    .tuple(fc.nat(), fc.nat(999), fc.nat(999))
    .map(([low, a, b]) => ({ low, best: low + a / 2, high: low + a / 2 + b })),
});
export const fillings = fc.record({
  entries: fc.array(entries, { maxLength: 12 }),
  slices: fc.array(slices, { maxLength: 80 }),
  readings: fc.array(fc.tuple(fc.nat(6 * 60 * 24 * 4), fc.option(fc.nat(900))), { maxLength: 40 }),
  before: fc.double({ min: 0, max: 1e9, noNaN: true }),
  words: fc.array(texts, { minLength: 3, maxLength: 3 }),
});
export type Filling = typeof fillings extends fc.Arbitrary<infer T> ? T : never;

export function fill(store: StorePort, { entries: journal, slices: hours, readings, before, words }: Filling): void {
  const [text = '', by = '', choice = ''] = words;
  const rows = readings
    .map(([ticks, tenths]) => ({ at: ticks * 10_000, value: tenths === null ? null : tenths / 10 }))
    .sort((a, b) => a.at - b.at);
  const { minutes, state } = takeMinutes(initialMinutes, rows);
  store.commitCounts({
    states: [...initialStates(defs).values()],
    slices: hours,
    resets: [{ counter: COUNTERS[1] ?? '', at: 7, before, after: 0.1 }],
    cursors: new Map([[text, 5]]),
    doubts: [{ counter: COUNTERS[2] ?? '', kind: 'negative', at: 9, before, after: -1.5 }],
    minutes: [{ entity: 'sensor.pump', minutes, state }],
    questions: [{ id: text, kind: 'source-gone', askedAt: 4, text: by, facts: { was: before } }],
  });
  for (let more = 0; more < 30; more++) store.commitCounts(empty);
  for (const entry of journal) store.append(entry);
  store.answerQuestion(text, { at: 8, by, choice });
  store.putQuestion({ id: by, kind: 'suspicious-fall', askedAt: 9, text });
  store.putSource({ counter: 'lamp', from: 3, source: null, how: 'move', by });
  const life = { part: text, number: 1, fittedAt: 10, fittedBy: by };
  store.putLife(life, note('fitted'), null);
  store.putSetting('hub last seen', choice);
}

export function filled(filling: Filling): string {
  const file = newName();
  const store = openStore(file, options);
  fill(store, filling);
  store.close();
  return file;
}

export const looked = (file: string): unknown => {
  const store = openStore(file, { ...options, readOnly: true });
  const found = contents(store);
  store.close();
  return found;
};
const [plainFilling] = fc.sample(fillings, { seed: SEED, numRuns: 1 });
assert.ok(plainFilling);
export const example: Filling = {
  ...plainFilling,
  entries: [
    ...TOKENS.map((token, index) => reminder(`part ${index}`, token)),
    note('new resin'),
    ...plainFilling.entries,
  ],
};
