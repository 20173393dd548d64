import type { InstantMs } from '../units/index.ts';
import type { CounterId } from './tank.ts';

/** Answers a person can give; `yes` takes what is asked about, `no` leaves it out. */
export const CHOICES = ['yes', 'no'] as const;
export type Choice = (typeof CHOICES)[number];

/** Something the service cannot decide alone and waits for a person about. It stays until it is answered. */
export type Question = {
  /** The same doubt asked again has the same id, so that it is put once. */
  readonly id: string;
  readonly at: InstantMs;
  readonly counter: CounterId;
  readonly kind: 'unit-changed' | 'fall';
  /** The whole question in words, with what either answer does. */
  readonly text: string;
  readonly choices: readonly Choice[];
  readonly answer?: { readonly at: InstantMs; readonly by: string; readonly choice: Choice };
};
