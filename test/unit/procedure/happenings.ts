import fc from 'fast-check';
import type { Fault } from './plant.ts';

/** Whatever may happen to a session, beside time passing. */
export type Happening =
  | { readonly kind: 'pass'; readonly seconds: number }
  | {
      readonly kind: 'answer';
      readonly who: 'ada' | 'bo' | 'machine' | 'unknown';
      readonly how: 'right' | 'wrong-nonce' | 'wrong-step';
    }
  | { readonly kind: 'lose-hub' | 'hub-back' | 'restart' | 'abort' }
  | { readonly kind: 'clock'; readonly byMs: number }
  | { readonly kind: 'skew'; readonly ms: number }
  | { readonly kind: 'unplug' | 'plug'; readonly equipment: string }
  | { readonly kind: 'other-hand'; readonly equipment: string; readonly on: boolean }
  | { readonly kind: 'fault'; readonly equipment: string; readonly fault: Fault | 'none' }
  | { readonly kind: 'gap'; readonly entity: string }
  | { readonly kind: 'stale'; readonly ageMs: number }
  | { readonly kind: 'attend'; readonly attends: boolean }
  | { readonly kind: 'water'; readonly cm: number };

const plugs = fc.constantFrom('return', 'flow', 'skimmer', 'top-off');
export const happening: fc.Arbitrary<Happening> = fc.oneof(
  {
    weight: 12,
    arbitrary: fc.record({ kind: fc.constant('pass' as const), seconds: fc.integer({ min: 1, max: 400 }) }),
  },
  {
    weight: 12,
    arbitrary: fc.record({
      kind: fc.constant('answer' as const),
      who: fc.oneof(
        { weight: 6, arbitrary: fc.constant('ada' as const) },
        { weight: 2, arbitrary: fc.constantFrom('bo' as const, 'machine' as const, 'unknown' as const) },
      ),
      how: fc.oneof(
        { weight: 8, arbitrary: fc.constant('right' as const) },
        { weight: 2, arbitrary: fc.constantFrom('wrong-nonce' as const, 'wrong-step' as const) },
      ),
    }),
  },
  {
    weight: 2,
    arbitrary: fc.record({ kind: fc.constantFrom('lose-hub' as const, 'hub-back' as const, 'restart' as const) }),
  },
  { weight: 1, arbitrary: fc.record({ kind: fc.constant('hub-back' as const) }) },
  { weight: 1, arbitrary: fc.record({ kind: fc.constant('abort' as const) }) },
  {
    weight: 1,
    arbitrary: fc.record({ kind: fc.constant('clock' as const), byMs: fc.integer({ min: -900_000, max: 3_600_000 }) }),
  },
  {
    weight: 1,
    arbitrary: fc.record({ kind: fc.constant('skew' as const), ms: fc.constantFrom(0, 0, 3_000, 9_000, -60_000) }),
  },
  { weight: 1, arbitrary: fc.record({ kind: fc.constantFrom('unplug' as const, 'plug' as const), equipment: plugs }) },
  { weight: 3, arbitrary: fc.record({ kind: fc.constant('attend' as const), attends: fc.boolean() }) },
  { weight: 2, arbitrary: fc.record({ kind: fc.constant('other-hand' as const), equipment: plugs, on: fc.boolean() }) },
  {
    weight: 2,
    arbitrary: fc.record({
      kind: fc.constant('fault' as const),
      equipment: plugs,
      fault: fc.constantFrom(
        'welded' as const,
        'stuck' as const,
        'silent' as const,
        'not-turning' as const,
        'none' as const,
        'none' as const,
      ),
    }),
  },
  {
    weight: 1,
    arbitrary: fc.record({
      kind: fc.constant('gap' as const),
      entity: fc.constantFrom('switch.skimmer', 'sensor.skimmer_power', 'sensor.sump_level', 'switch.return'),
    }),
  },
  {
    weight: 1,
    arbitrary: fc.record({ kind: fc.constant('stale' as const), ageMs: fc.integer({ min: 0, max: 600_000 }) }),
  },
  {
    weight: 1,
    arbitrary: fc.record({ kind: fc.constant('water' as const), cm: fc.double({ min: -2, max: 4, noNaN: true }) }),
  },
);
