import { appendFileSync } from 'node:fs';

/** The outside things that a full run must really have touched. The continuous check fails when one of them is missing. */
export type OutsidePart = 'real-hub' | 'chromium' | 'node-red';

/**
 * Notes that a suite really used an outside part. Called after the part answered, never before: a suite that was
 * filtered out or that died at its start must not count.
 */
export function markRan(part: OutsidePart): void {
  const file = process.env['SLACKWATER_RAN'];
  if (file !== undefined && file !== '') appendFileSync(file, `${part}\n`);
}
