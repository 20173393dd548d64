import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import { FINDING_KINDS, type Finding, SURE } from '../../../src/condition/index.ts';
import type { Part } from '../../../src/model/index.ts';
import { foundWord, type StandingInput, standingOf } from '../../../src/remind/index.ts';
import { DAY_MS } from '../../../src/units/index.ts';

const NOW = Date.UTC(2026, 2, 2, 9);
const settings = { nearShare: 0.9, nearMs: 14 * DAY_MS, laterMs: 3 * DAY_MS };
const WORDS = ['fine', 'unknown', 'order', 'near', 'due', 'overdue'];

const part = (safety: boolean, limit = 120): Part => ({
  id: 'wet-end',
  name: 'Return pump wet end',
  kind: 'return-pump-wet-end',
  pieces: 1,
  limits: [{ measure: 'days', amount: limit }],
  safety,
  usageFrom: {},
  usedBefore: {},
});

const finding = (over: Partial<Finding> = {}): Finding => ({
  kind: 'pump-fouling',
  equipment: 'return-pump',
  parts: ['wet-end'],
  since: NOW - 5 * DAY_MS,
  saidAt: NOW - DAY_MS,
  toldAt: NOW - DAY_MS,
  sure: 'certain',
  evidence: 'Return pump: 48 W after the last service, 52 W now (+8.3 %); scale or dirt',
  value: 52,
  normal: 48,
  unit: 'W',
  ofLimit: 1.04,
  ...over,
});

const input = (daysUsed: number, findings: readonly Finding[], safety = false): StandingInput => ({
  part: part(safety),
  life: { part: 'wet-end', number: 1, fittedAt: NOW - daysUsed * DAY_MS, fittedBy: 'keeper' },
  usages: [{ measure: 'days', low: daysUsed, best: daysUsed, high: daysUsed, countingSince: NOW - daysUsed * DAY_MS }],
  dailyUse: {},
  now: NOW,
  settings,
  timeZone: 'UTC',
  findings,
});

describe('a finding and the standing of its part', () => {
  test('a condition at its limit makes a part due that is young by its days, and says what was seen', () => {
    const standing = standingOf(input(20, [finding()]));
    assert.equal(standing.word, 'due');
    assert.match(standing.reason, /^Return pump wet end: seen: Return pump: 48 W .* 52 W now/);
    assert.match(standing.reason, /20 d of 120 d of age/);
    assert.deepEqual(standing.found, [
      { kind: 'pump-fouling', sure: 'certain', since: NOW - 5 * DAY_MS, evidence: finding().evidence },
    ]);
  });

  test('on the way to its limit the part is near; a suspicion alone moves nothing', () => {
    assert.equal(standingOf(input(20, [finding({ sure: 'likely', ofLimit: 0.8 })])).word, 'near');
    const quiet = standingOf(input(20, [finding({ sure: 'suspected', ofLimit: 2 })]));
    assert.equal(quiet.word, 'fine');
    assert.equal(quiet.found, undefined);
  });

  test('a part that guards against harm is due when its condition is only likely', () => {
    const likely = { kind: 'sticky-float', sure: 'likely' } as const;
    const { ofLimit: _, ...there } = finding(likely);
    assert.equal(foundWord(part(true), there), 'due');
    assert.equal(foundWord(part(false), there), 'near');
  });

  test('whatever is found, no part stands better than its usage says', () => {
    const findings = fc.array(
      fc.record({
        kind: fc.constantFrom(...FINDING_KINDS),
        sure: fc.constantFrom(...SURE),
        ofLimit: fc.double({ min: 0, max: 3, noNaN: true }),
      }),
      { maxLength: 4 },
    );
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 200 }), findings, fc.boolean(), (days, found, safety) => {
        const without = standingOf(input(days, [], safety));
        const having = standingOf(
          input(
            days,
            found.map((one) => finding(one)),
            safety,
          ),
        );
        assert.ok(WORDS.indexOf(having.word) >= WORDS.indexOf(without.word));
        assert.deepEqual(having.reachedAt, without.reachedAt);
      }),
    );
  });
});
