import { problem, type SlackwaterError } from '../../errors/index.ts';
import { asFailure, seconds } from './deadline.ts';
import type { HubSetup } from './options.ts';
import type { SocketTrouble } from './socket.ts';

/** The catalogue's words for a call that failed; `what` completes "so … cannot be done now". */
export function callProblem(error: unknown, setup: HubSetup, what: string): SlackwaterError {
  const failure = asFailure(error);
  switch (failure.kind) {
    case 'not-sent':
    case 'lost':
      return problem('SW-HUB-010', { what });
    case 'deadline':
      return problem('SW-HUB-005', { call: what, deadline: seconds(setup.deadlineMs) });
    case 'refused':
      if (failure.code === 'unauthorized' || failure.code === '401') return problem('SW-HUB-008', { needed: what });
      return problem('SW-HUB-011', { call: what, detail: failure.message.replace(/\.$/, '') });
  }
}

export function refusedProblem(trouble: SocketTrouble, setup: HubSetup): SlackwaterError {
  return problem(trouble.kind === 'banned' ? 'SW-HUB-003' : 'SW-HUB-002', { url: setup.url });
}
