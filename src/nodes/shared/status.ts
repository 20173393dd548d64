import type { LinkState } from './link.ts';
import type { NodeStatus } from './node-red.ts';

const clock = new Intl.DateTimeFormat('en-GB', { hour: '2-digit', minute: '2-digit' });

/** Short enough for the canvas. */
const MOST = 32;

/** "UV lamp: overdue · 14:05": the time is that of the last message. */
export function said(text: string, at: number, fill: 'green' | 'yellow' | 'red' | 'blue' = 'green'): NodeStatus {
  const short = text.length > MOST ? `${text.slice(0, MOST - 1)}…` : text;
  return { fill, shape: 'dot', text: `${short} · ${clock.format(at)}` };
}

/** How the connection stands, for a node that has sent nothing yet or has lost it. */
export function linkStatus(state: LinkState): NodeStatus {
  switch (state.kind) {
    case 'connecting':
      return { fill: 'grey', shape: 'ring', text: 'connecting' };
    case 'up':
      return { fill: 'green', shape: 'ring', text: 'connected' };
    case 'down':
      return { fill: 'red', shape: 'ring', text: `no service since ${clock.format(state.since)}` };
    case 'refused':
      return { fill: 'red', shape: 'ring', text: 'credential refused' };
  }
}

export const NO_SERVICE: NodeStatus = { fill: 'red', shape: 'ring', text: 'no service chosen' };

export const NO_SERVICE_TEXT = 'No service is chosen: open the node and choose or add one.';
