import type { ServerResponse } from 'node:http';
import type { AppEvent, AppFace } from '../app/index.ts';
import type { System } from '../ports/index.ts';
import { type DurationMs, SECOND_MS } from '../units/index.ts';

/** Shorter than the idle limit of common proxies; a listener may call the link dead after three missed beats. */
const HEARTBEAT_MS: DurationMs = 15 * SECOND_MS;
const EVENTS_KEPT = 256;
const MAX_LISTENERS = 32;
/** A listener that reads this far behind is cut; it reconnects and resumes by event id. */
const MAX_UNREAD_BYTES = 1_000_000;

export type EventStream = {
  readonly limit: number;
  /** True when no further listener may be attached. */
  full(): boolean;
  attach(response: ServerResponse, lastEventId: string | undefined): void;
  close(): void;
};

/**
 * Server-sent events of the service. Ids are `<run>-<number>`: a listener that names the last one it saw gets what it
 * missed, or, where that is no longer known (other run, too long ago), an event `missed` that tells it to read everything anew.
 */
export function eventStream(face: AppFace, system: System): EventStream {
  const run = system.random.token().slice(0, 8).replaceAll('-', '_');
  const kept: { readonly number: number; readonly event: AppEvent }[] = [];
  const open = new Set<ServerResponse>();
  let last = 0;
  let stopBeat: () => void = () => {};

  const write = (response: ServerResponse, text: string): void => {
    if (response.writableLength > MAX_UNREAD_BYTES) response.destroy();
    else response.write(text);
  };
  const frame = (number: number, event: AppEvent): string =>
    `id: ${run}-${number}\nevent: ${event.kind}\ndata: ${JSON.stringify(event)}\n\n`;

  const unsubscribe = face.subscribe((event) => {
    last += 1;
    kept.push({ number: last, event });
    if (kept.length > EVENTS_KEPT) kept.shift();
    for (const response of open) write(response, frame(last, event));
  });

  const beat = (): void => {
    for (const response of open) write(response, `: alive ${system.clock.now()}\n\n`);
    stopBeat = system.timers.after(HEARTBEAT_MS, 'api event heartbeat', beat);
  };
  beat();

  const resume = (response: ServerResponse, lastEventId: string): void => {
    const seen = lastEventId.startsWith(`${run}-`) ? Number(lastEventId.slice(run.length + 1)) : Number.NaN;
    const oldest = kept[0]?.number ?? last + 1;
    if (!Number.isInteger(seen) || seen > last || seen < oldest - 1) write(response, 'event: missed\ndata: {}\n\n');
    else for (const { number, event } of kept) if (number > seen) write(response, frame(number, event));
  };

  return {
    limit: MAX_LISTENERS,
    full: () => open.size >= MAX_LISTENERS,
    attach(response, lastEventId) {
      open.add(response);
      response.on('close', () => open.delete(response));
      // A socket error comes before its `close`; without a listener it would end the process.
      response.on('error', () => open.delete(response));
      // `ready` is sent once the listener is in: whatever happens from here on reaches it.
      write(response, `retry: 2000\nevent: ready\ndata: ${JSON.stringify({ last: `${run}-${last}` })}\n\n`);
      if (lastEventId !== undefined && lastEventId !== '') resume(response, lastEventId);
    },
    close() {
      unsubscribe();
      stopBeat();
      for (const response of open) response.end();
      open.clear();
    },
  };
}
