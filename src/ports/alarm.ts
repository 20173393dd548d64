import type { DurationMs, InstantMs } from '../units/index.ts';

/** What is told to people by ways that do not pass through the hub. */
export type AlarmMessage = {
  /** The same key replaces: only the newest of each is worth telling late. */
  readonly key: string;
  readonly kind: 'alarm' | 'over' | 'test';
  readonly title: string;
  readonly text: string;
  readonly at: InstantMs;
  readonly tank: string;
  readonly simulated: boolean;
};

export type AlarmOutcome = { readonly sent: boolean; readonly tries: number; readonly detail: string };

/** One way to people. It tries until told, or until trying on makes no sense; it never throws. */
export type AlarmPath = {
  readonly name: string;
  send(message: AlarmMessage): Promise<AlarmOutcome>;
  /** What still waits to be tried again is dropped. */
  stop(): void;
};

/** A sign of life that something else watches. */
export type Heartbeat = {
  readonly everyMs: DurationMs;
  beat(life: {
    readonly tank: string;
    readonly at: InstantMs;
    readonly hub: string;
  }): Promise<{ readonly heard: boolean; readonly detail: string }>;
};
