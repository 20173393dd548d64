import { type DurationMs, type InstantMs, SECOND_MS } from '../units/index.ts';

/** What the hub was showing from `publishedAt` on; `step` null = nothing to answer. */
export type Shown = {
  readonly session: string;
  readonly step: string | null;
  readonly nonce: string | null;
  /** When the hub accepted it. */
  readonly publishedAt: InstantMs;
};

export type BoundPress =
  | { readonly ok: true; readonly session: string; readonly step: string; readonly nonce: string }
  | { readonly ok: false; readonly reason: 'nothing-shown' | 'too-early'; readonly why: string };

/**
 * The hub has one button for every step: a press means the step the hub was showing when it was pressed, never the one
 * that happens to be open when the press arrives.
 */
export function bindPress(
  shown: readonly Shown[],
  press: { readonly at: InstantMs; readonly userId: string | null },
  delayMs: DurationMs = 2 * SECOND_MS,
): BoundPress {
  const seen = shown
    .filter((each) => each.publishedAt <= press.at)
    .reduce<Shown | null>((best, each) => (best === null || each.publishedAt >= best.publishedAt ? each : best), null);
  if (seen === null || seen.step === null || seen.nonce === null) {
    return {
      ok: false,
      reason: 'nothing-shown',
      why: 'Nothing was waiting for an answer when the button was pressed.',
    };
  }
  const sinceMs = press.at - seen.publishedAt;
  if (sinceMs < delayMs) {
    return {
      ok: false,
      reason: 'too-early',
      why: `The button was pressed ${(sinceMs / SECOND_MS).toFixed(1)} s after the step appeared: read it, then press again.`,
    };
  }
  return { ok: true, session: seen.session, step: seen.step, nonce: seen.nonce };
}
