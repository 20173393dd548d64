// The engine under trial, in one place.
import type { SessionState } from '../../../src/procedure/index.ts';

export * from '../../../src/procedure/index.ts';

const OVER: readonly SessionState['status'][] = ['complete', 'stopped', 'aborted'];
export const isEnded = (state: SessionState): boolean => OVER.includes(state.status);
