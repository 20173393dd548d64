import type { AlarmMessage, AlarmOutcome, Timers } from '../../ports/index.ts';
import { type DurationMs, MINUTE_MS, SECOND_MS } from '../../units/index.ts';

/** One try: told, or not and whether another makes sense. */
export type Tried = { readonly sent: boolean; readonly again: boolean; readonly detail: string };

/** How long to wait before each further try. */
export type TryAgain = readonly DurationMs[];

export const TRY_AGAIN: TryAgain = [2 * SECOND_MS, 10 * SECOND_MS, MINUTE_MS, 5 * MINUTE_MS, 15 * MINUTE_MS];

/** Tries until told. A newer message of the same key takes the place of one that still waits. */
export function createRetry(timers: Timers, waits: TryAgain, attempt: (message: AlarmMessage) => Promise<Tried>) {
  const waiting = new Map<string, () => void>();
  let stopped = false;

  const pause = (key: string, ms: DurationMs): Promise<'again' | 'dropped'> =>
    new Promise((resolve) => {
      const end = (how: 'again' | 'dropped') => (): void => {
        waiting.delete(key);
        resolve(how);
      };
      const cancel = timers.after(ms, 'tell again', end('again'));
      waiting.set(key, () => {
        cancel();
        end('dropped')();
      });
    });

  return {
    async send(message: AlarmMessage): Promise<AlarmOutcome> {
      waiting.get(message.key)?.();
      for (let tries = 1; ; tries++) {
        const { sent, again, detail } = await attempt(message);
        const wait = waits[tries - 1];
        if (sent || !again || wait === undefined || stopped) return { sent, tries, detail };
        if ((await pause(message.key, wait)) === 'dropped')
          return { sent: false, tries, detail: `${detail}; a newer one took its place` };
      }
    },
    stop(): void {
      stopped = true;
      for (const drop of [...waiting.values()]) drop();
    },
  };
}
