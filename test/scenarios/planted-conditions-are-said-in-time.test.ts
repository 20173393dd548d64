// Nine of the demo tank's planted events are conditions of its equipment. Each is simulated on its day, with its season and
// its noise, and must be said for what it is, of the right equipment, in time.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { DAY_MS } from '../../src/units/index.ts';
import { EVENTS, eventWords } from '../simulation/wear/events.ts';

for (const event of EVENTS)
  test(`event ${event.number}: ${event.what}`, (t) => {
    const words = eventWords(event);
    for (const { day, kind, sure, evidence } of words) t.diagnostic(`D${day} ${kind}, ${sure}: ${evidence}`);
    const { expected, also = [] } = event.plant;
    for (const { kind } of expected) {
      const first = words.find((one) => one.kind === kind);
      assert.ok(first !== undefined, `${kind} was never said`);
      if (kind === expected[0]?.kind)
        assert.ok(first.afterMs <= event.within * DAY_MS, `${kind} came after ${first.afterMs / DAY_MS} days`);
    }
    const known = [...expected, ...also].map(({ kind }) => kind);
    assert.deepEqual(
      words.filter(({ kind }) => !known.includes(kind)),
      [],
    );
  });

test('a dead tube is counted, and the lamps light is asked', () => {
  const [event] = EVENTS;
  assert.ok(event !== undefined);
  const [word] = eventWords(event);
  assert.match(
    word?.evidence ?? '',
    /one of three tubes out: 17\d(\.\d)? W fell to 11\d(\.\d)? W, 3[1-3] %; light -2\d %/,
  );
});

test('a pump that scaled up is told of by its share before it fails to turn', () => {
  const event = EVENTS.find(({ number }) => number === 2);
  assert.ok(event !== undefined);
  const words = eventWords(event);
  const certain = words.find(({ kind, sure }) => kind === 'pump-fouling' && sure === 'certain');
  const still = words.find(({ kind }) => kind === 'pump-not-turning');
  // Past ten per cent about D85; it stands still from 11:25 on D98.
  assert.ok(certain !== undefined && Math.abs(certain.day - 85) <= 4, `past the limit on D${certain?.day}`);
  assert.equal(still?.day, 98);
  assert.ok(still.minute - 685 <= 5, `said ${still.minute - 685} min after the pause`);
});
