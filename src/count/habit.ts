import { HOUR_MS } from '../units/index.ts';

/**
 * What the hours of the week usually are: for each of the 168, by UTC, the share of it that a device is on. Learned from
 * hours that were watched from beginning to end, newer ones weighing more, and asked only where a gap hides the truth.
 */
export type Habit = {
  /** As it is stored: two characters an hour, '' = nothing learned. Behind `slots` once something was learned. */
  text: string;
  slots: Uint16Array | null;
  isNew: boolean;
};

const HOURS = 168;
/** A share is kept in steps of five seconds. */
export const HABIT_STEPS = 720;
const STEP_MS = HOUR_MS / HABIT_STEPS;
/** Means of up to so many weeks; from then on each week moves the share by a part of the difference. */
const WEEKS = 4;
const PER_COUNT = HABIT_STEPS + 1;
const DIGITS = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_';

export const openHabit = (text: string | undefined): Habit => ({ text: text ?? '', slots: null, isNew: false });

function slotsOf(habit: Habit): Uint16Array {
  if (habit.slots !== null) return habit.slots;
  const slots = new Uint16Array(HOURS);
  for (let index = 0; index < HOURS && habit.text.length === 2 * HOURS; index++) {
    const high = DIGITS.indexOf(habit.text.charAt(2 * index));
    const low = DIGITS.indexOf(habit.text.charAt(2 * index + 1));
    slots[index] = Math.max(0, high) * 64 + Math.max(0, low);
  }
  habit.slots = slots;
  return slots;
}

export function habitText(habit: Habit): string {
  if (habit.isNew && habit.slots !== null) {
    let text = '';
    for (const slot of habit.slots) text += DIGITS.charAt(slot >> 6) + DIGITS.charAt(slot & 63);
    habit.text = text;
    habit.isNew = false;
  }
  return habit.text;
}

const indexOf = (hour: number): number => (hour / HOUR_MS) % HOURS;

/** The whole hour from `hour` on was watched, and the device was on for `onMs` of it. */
export function learnHour(habit: Habit, hour: number, onMs: number): void {
  const slots = slotsOf(habit);
  const index = indexOf(hour);
  const before = slots[index] ?? 0;
  const weeks = Math.floor(before / PER_COUNT);
  const share = before % PER_COUNT;
  const seen = Math.round(onMs / STEP_MS);
  const now = Math.min(weeks + 1, WEEKS);
  const moved = weeks === 0 ? seen : share + Math.round((seen - share) / now);
  const next = now * PER_COUNT + moved;
  if (next === before) return;
  slots[index] = next;
  habit.isNew = true;
}

/** Of `HABIT_STEPS` steps of this hour, how many it usually is on; -1 where no such hour was ever watched. */
export function usualShare(habit: Habit, hour: number): number {
  if (habit.slots === null && habit.text === '') return -1;
  const slot = slotsOf(habit)[indexOf(hour)] ?? 0;
  return slot < PER_COUNT ? -1 : slot % PER_COUNT;
}
