import type { InstantMs } from '../units/index.ts';
import type { CounterId, EntityId, EquipmentId } from './tank.ts';

/**
 * - `unit-changed`: a source tells in another unit than before; its count stands still until a person says what it means
 * - `suspicious-fall`: a total fell in a way that a reset alone does not explain
 * - `source-gone`: an entity that fed a counter is no longer there
 * - `left-off`: an equipment is off, outside its driver and without a session
 * - `not-back`: after a restore something is not as it was before
 * - `acclimation`: new lamps burn, and their hours may be shortened for the first weeks
 * - `start-up`: a plug came on by itself, and its start-up setting is to be looked at
 * - `writes-lost`: the last writes before an unclean stop could not be read back
 */
export type QuestionKind =
  | 'unit-changed'
  | 'suspicious-fall'
  | 'source-gone'
  | 'writes-lost'
  | 'left-off'
  | 'start-up'
  | 'not-back'
  | 'acclimation';

/** `yes` takes what is asked about, `no` leaves it out. */
export const CHOICES = ['yes', 'no'] as const;
export type Choice = (typeof CHOICES)[number];

/** Something the service cannot decide alone and waits for a person about. It stays until answered, through restarts. */
export type Question = {
  /** The same doubt asked again has the same id, so that it is put once. */
  readonly id: string;
  readonly kind: QuestionKind;
  readonly askedAt: InstantMs;
  /** The whole question in words, with what either answer does. */
  readonly text: string;
  readonly counter?: CounterId;
  readonly entity?: EntityId;
  readonly equipment?: EquipmentId;
  /** What was found, for whoever acts on the answer. */
  readonly facts?: Readonly<Record<string, string | number | null>>;
};

export type AnsweredQuestion = Question & {
  readonly answer: { readonly at: InstantMs; readonly by: string; readonly choice: string } | null;
};
