import assert from 'node:assert/strict';
import { test } from 'node:test';
import { createNews, type Known } from '../../../src/app/condition-news.ts';
import type { PartLife, Tank } from '../../../src/model/index.ts';
import type { SourceEntry } from '../../../src/ports/index.ts';
import { DAY_MS, HOUR_MS } from '../../../src/units/index.ts';

const NOW = Date.UTC(2026, 5, 1, 12);
const tank = (watts: string): Tank =>
  ({
    equipment: [{ id: 'return-pump', name: 'Return pump', role: 'return-pump', powerEntity: watts }],
    parts: [{ id: 'wet-end', name: 'Wet end', kind: 'return-pump-wet-end', equipment: 'return-pump' }],
    counters: [{ id: 'return-hours', name: 'Return', source: { kind: 'on-state', entity: watts }, measures: [] }],
  }) as unknown as Tank;
const life = (number: number, fittedAt: number): PartLife => ({ part: 'wet-end', number, fittedAt, fittedBy: 'Robin' });

function news(
  known: Known,
  { watts = 'sensor.a_power', lives = [] as PartLife[], sources = [] as SourceEntry[] } = {},
) {
  return createNews(
    {
      tank: tank(watts),
      store: { sources: () => sources },
      lives: () => new Map(lives.map((one) => [one.part, one])),
    },
    known,
  );
}

test('a part recorded as serviced is told once the tank is judged as far as that, and once only', () => {
  const one = news({ lives: { 'wet-end': 1 } }, { lives: [life(2, NOW)] });
  one.look(NOW - HOUR_MS);
  assert.deepEqual(one.taken(NOW), [], 'the minute before it is judged without it');
  const told = [{ at: NOW, what: 'serviced', part: 'return-pump-wet-end', equipment: 'return-pump' }];
  assert.deepEqual(one.taken(NOW + 60_000), told);
  one.look(NOW);
  assert.deepEqual(one.taken(NOW + DAY_MS), []);
});

test('what was not judged yet is told by the next run of the service', () => {
  const first = news({ lives: { 'wet-end': 1 } }, { lives: [life(2, NOW)] });
  first.look(NOW);
  const second = news(JSON.parse(JSON.stringify(first.known())) as Known, { lives: [life(2, NOW)] });
  second.look(NOW);
  assert.equal(second.taken(NOW + DAY_MS).length, 1);
});

test('other watts in the configuration are a new meter from the last that was judged on', () => {
  const first = news({ lives: {} });
  first.lookAtMeters(NOW - DAY_MS);
  assert.deepEqual(first.taken(NOW + DAY_MS), [], 'the first meter is no new one');
  const second = news(first.known(), { watts: 'sensor.b_power' });
  second.lookAtMeters(NOW);
  assert.deepEqual(second.taken(NOW + 1), [{ at: NOW, what: 'new-meter', equipment: 'return-pump' }]);
  second.lookAtMeters(NOW);
  assert.deepEqual(second.taken(NOW + DAY_MS), []);
});

test('a meter that the keeper recorded is new from that moment on; a rename is none', () => {
  const at = (how: SourceEntry['how'], entity: string, from: number): SourceEntry => ({
    ...{ counter: 'return-hours', from, how, by: 'Robin' },
    source: { kind: 'on-state', entity } as SourceEntry['source'],
  });
  const seen = news({ lives: {} });
  seen.lookAtMeters(NOW - DAY_MS);
  const sources = [at('first', 'sensor.a_power', NOW - 90 * DAY_MS), at('replace', 'sensor.b_power', NOW - HOUR_MS)];
  const changed = news(seen.known(), { watts: 'sensor.b_power', sources });
  changed.lookAtMeters(NOW - 60_000);
  const told = [{ at: NOW - HOUR_MS, what: 'new-meter', equipment: 'return-pump' }];
  assert.deepEqual(changed.taken(NOW), told, 'once, although file and record both say so');
  const again = news(changed.known(), { watts: 'sensor.b_power', sources });
  again.lookAtMeters(NOW);
  assert.deepEqual(again.taken(NOW + DAY_MS), []);
  const renamed = news(seen.known(), { sources: [...sources.slice(0, 1), at('rename', 'sensor.c_power', NOW)] });
  renamed.lookAtMeters(NOW);
  assert.deepEqual(renamed.taken(NOW + DAY_MS), []);
});
