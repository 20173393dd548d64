import assert from 'node:assert/strict';
import { test } from 'node:test';
import { createConditionDates } from '../../../src/app/condition-dates.ts';
import type { Finding } from '../../../src/condition/index.ts';
import type { Part } from '../../../src/model/index.ts';
import { standingOf } from '../../../src/remind/index.ts';
import { DAY_MS } from '../../../src/units/index.ts';

const NOW = Date.UTC(2026, 2, 2, 9);

/** Watts of a return pump that gains 0.04 W a day: 48 W after the service, 51.2 W now; due at 8 %, which is 51.84 W. */
const days = Array.from({ length: 81 }, (_, day) => ({ day, value: 48 + 0.04 * day + 0.06 * Math.sin(17.3 * day) }));
const finding: Finding = {
  kind: 'pump-fouling',
  equipment: 'return-pump',
  parts: ['wet-end'],
  since: NOW - 60 * DAY_MS,
  saidAt: NOW - DAY_MS,
  toldAt: NOW - DAY_MS,
  sure: 'likely',
  evidence: 'Return pump: 48 W after the last service, 51.2 W now (+6.7 %); scale or dirt',
  value: 51.2,
  normal: 48,
  unit: 'W',
  ofLimit: 0.833,
};

const part: Part = {
  id: 'wet-end',
  name: 'Return pump wet end',
  kind: 'return-pump-wet-end',
  pieces: 1,
  limits: [{ measure: 'days', amount: 200 }],
  safety: false,
  usageFrom: {},
  usedBefore: {},
};
const standing = (findings: readonly Finding[], daysUsed = 90) =>
  standingOf({
    part,
    life: { part: 'wet-end', number: 1, fittedAt: NOW - daysUsed * DAY_MS, fittedBy: 'keeper' },
    usages: [
      { measure: 'days', low: daysUsed, best: daysUsed, high: daysUsed, countingSince: NOW - daysUsed * DAY_MS },
    ],
    ...{ dailyUse: {}, now: NOW, settings: { nearShare: 0.9, nearMs: 14 * DAY_MS, laterMs: DAY_MS }, timeZone: 'UTC' },
    findings,
  });

test('a drift of watts has a date at which it comes to its limit, and that brings the part’s date forward', () => {
  const dated = createConditionDates(() => days).of(finding, NOW);
  const likely = dated.foreseen?.reach.likely ?? 0;
  // Own arithmetic: 0.64 W are left at 0.04 W a day, 16 days.
  assert.ok(Math.abs((likely - NOW) / DAY_MS - 16) < 3, `${(likely - NOW) / DAY_MS} days`);
  const with_ = standing([dated]);
  assert.equal(with_.reachedAt?.likely, likely);
  assert.equal(with_.restsOn, 'from a trend over 81 days');
  assert.match(with_.reason, /at this rate it is due on 1\d Mar 2026/);
  // By its age alone it would be due in 110 days; in 5 days the age comes first, and the trend puts nothing off.
  assert.equal(standing([finding]).reachedAt?.likely, NOW + 110 * DAY_MS);
  assert.equal(standing([dated], 195).reachedAt?.likely, NOW + 5 * DAY_MS);
});

test('no date for what does not drift, is at its limit already, or was found by something else than its watts', () => {
  const dates = createConditionDates(() => days);
  const foreseen = (over: Partial<Finding>) => dates.of({ ...finding, ...over }, NOW).foreseen;
  assert.equal(foreseen({ kind: 'resin-breakthrough' }), undefined);
  assert.equal(foreseen({ ofLimit: 1.2 }), undefined);
  assert.equal(foreseen({ value: 48.2, ofLimit: 0.9 }), undefined);
  const still = createConditionDates(() => days.map(({ day }) => ({ day, value: 50 + 0.1 * Math.sin(17.3 * day) })));
  assert.equal(still.of(finding, NOW).foreseen, null);
});

test('a date is worked out once a day, and anew with a new day', () => {
  let asked = 0;
  let until = 80;
  const dates = createConditionDates(() => {
    asked += 1;
    return days.slice(0, until);
  });
  const first = dates.of(finding, NOW).foreseen;
  assert.equal(dates.of(finding, NOW + 1000).foreseen, first);
  until = 81;
  assert.notEqual(dates.of(finding, NOW + 2000).foreseen, first);
  assert.equal(asked, 3);
});
