import type { StorePort } from '../ports/index.ts';
import type { InstantMs } from '../units/index.ts';

/** When the hub was last heard: a restart of it since then is told by this. */
const HEARD = 'hub last seen';
/** Up to when everything it reported was counted. Behind the other while history is still being read. */
const WATCHED = 'watched until';

export type Seen = { readonly heardAt: InstantMs | null; readonly watchedUntil: InstantMs | null };

/** What an earlier run of the service left behind; null = nothing. */
export function seenBefore(store: Pick<StorePort, 'setting'>): Seen {
  const read = (key: string): InstantMs | null => {
    const text = store.setting(key);
    return text === null ? null : Number(text);
  };
  return { heardAt: read(HEARD), watchedUntil: read(WATCHED) };
}

export function noteSeen(store: Pick<StorePort, 'putSetting'>, at: InstantMs, counted: boolean): void {
  store.putSetting(HEARD, String(at));
  if (counted) store.putSetting(WATCHED, String(at));
}
