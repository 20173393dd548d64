import { problem, type SlackwaterError } from '../errors/index.ts';
import type { HubPort, HubPress, System } from '../ports/index.ts';
import { buttonNames } from '../publish/index.ts';
import type { InstantMs } from '../units/index.ts';

type Typed = Extract<HubPress, { kind: 'typed' }>;

/** What stands in the hub's field for a value. It keeps its text like any helper, so most of this is about when it counts. */
export type Typing = {
  take(typed: Typed): void;
  /**
   * The value for a question shown since `since`, confirmed by `userId`; undefined where the field is empty. Throws, with
   * the reason, where it must not count: typed for an earlier question, by somebody else, or no number.
   */
  valueFor(question: { since: InstantMs; userId: string | null; unit: string }): number | undefined;
  /** What is asked now: under another question what was typed counts no longer, and the field is emptied. */
  asked(nonce: string | null): void;
};

export function createTyping({ hub, system }: { readonly hub: Pick<HubPort, 'emptyField'>; readonly system: System }) {
  let last: Typed | null = null;
  let open: string | null = null;
  const over = (): void => {
    if (last === null) return;
    last = null;
    void hub
      .emptyField?.(buttonNames.value)
      .catch((error: unknown) => system.log.warn(`the field for a value could not be emptied: ${String(error)}`));
  };
  const refuse = (text: string, why: string): SlackwaterError => problem('SW-SES-021', { found: text, why });
  const typing: Typing = {
    take: (typed) => {
      last = typed.text.trim() === '' ? null : typed;
    },
    asked: (nonce) => {
      if (nonce !== open) over();
      open = nonce;
    },
    valueFor: ({ since, userId, unit }) => {
      if (last === null) return undefined;
      const { text, receivedAt, userId: typedBy } = last;
      // The same text typed again would be no change to the hub: only an emptied field can be filled anew.
      if (receivedAt < since || typedBy !== userId) {
        over();
        throw refuse(text, receivedAt < since ? 'it was typed before this was asked' : 'somebody else typed it');
      }
      const value = numberIn(text, unit);
      if (value === null) throw refuse(text, unit === '' ? 'it is no number' : `it is no number of ${unit}`);
      return value;
    },
  };
  return typing;
}

/** "35.2", "35,2" or with the unit that was asked for. */
function numberIn(text: string, unit: string): number | null {
  const trimmed = text.trim();
  const bare = unit !== '' && trimmed.endsWith(unit) ? trimmed.slice(0, -unit.length).trim() : trimmed;
  return /^[+-]?\d+([.,]\d+)?$/.test(bare) ? Number(bare.replace(',', '.')) : null;
}
