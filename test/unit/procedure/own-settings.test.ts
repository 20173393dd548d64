import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { type EngineSettings, replay, type SessionEvent } from '../../../src/procedure/index.ts';
import { createSitting } from './plant.ts';
import { small } from './tanks.ts';

/** Each is within what a keeper may set. */
const EDITED: readonly Partial<EngineSettings>[] = [
  { proofSpanMs: 60_000 },
  { proofReadings: 10 },
  { freshMs: 30_000 },
  { staggerMs: 30_000 },
  { timeFactor: 30 },
];

describe('rules edited while a session is open', () => {
  const s = createSitting({ tank: small(), procedure: 'skimmer-service' });
  s.until('the skimmer is claimed', (state) => state.claims.length > 0);
  const withSettings = s.trail.events.map(
    (event): SessionEvent => (event.kind === 'started' ? { ...event, settings: s.ctx.settings } : event),
  );

  for (const edit of EDITED) {
    test(`a start of the service with ${JSON.stringify(edit)} finds the claim and the step as they were`, () => {
      const state = replay(withSettings, { ...s.ctx, settings: { ...s.ctx.settings, ...edit } });
      assert.deepEqual(state, { ...s.trail.state, settings: s.ctx.settings });
      assert.deepEqual(
        state?.claims.map(({ equipment, person }) => [equipment, person]),
        [['skimmer', 'Ada']],
      );
    });
  }

  test('without them on record an edit would have lost it', () => {
    const state = replay(s.trail.events, { ...s.ctx, settings: { ...s.ctx.settings, proofSpanMs: 60_000 } });
    assert.deepEqual(state?.claims, []);
  });
});
