// What a test looks at while a session runs on the real hub: every call that would switch something, when each step was
// closed, and the table of it all.
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { SessionView } from '../../src/app/index.ts';
import { type ApiClient, apiClient } from '../../src/web/index.ts';
import { type RealHome, readForTwoSeconds } from '../scenarios/real-home.ts';
import { PLUGS } from '../scenarios/real-tank.ts';
import { eventually } from '../support/index.ts';

export const SWITCHES = PLUGS.map((id) => `switch.${id}`);

/** Somebody, whoever, asked the hub to turn something on or off. */
export type Call = { readonly atMs: number; readonly turn: string; readonly entity: string };

type CallEvent = {
  readonly time_fired: string;
  readonly data: {
    readonly domain: string;
    readonly service: string;
    readonly service_data: { readonly entity_id?: string | readonly string[] };
  };
};

/**
 * Calls as they reach the hub, whether anything follows or not. Only those over the hub's general service are heard, as the
 * product and the hub's thermostats send them; what the devices of the test do among themselves is not.
 */
export async function hearCalls(home: RealHome): Promise<readonly Call[]> {
  const calls: Call[] = [];
  const owner = await home.owner();
  await owner.subscribe({ type: 'subscribe_events', event_type: 'call_service' }, (event) => {
    const { data, time_fired: fired } = event as CallEvent;
    const turn = /^turn_(on|off)$/.exec(data.service)?.[1];
    if (data.domain !== 'homeassistant' || turn === undefined) return;
    for (const entity of [data.service_data.entity_id ?? []].flat())
      calls.push({ atMs: Date.parse(fired), turn, entity });
  });
  return calls;
}

/** When each step was closed, by the session's own journal. */
export function hearSteps(home: RealHome): ReadonlyMap<string, number> {
  const closedAt = new Map<string, number>();
  home.service().app.subscribe((event) => {
    if (event.kind !== 'session') return;
    for (const { id, result } of event.view.steps) {
      if (result !== 'pending' && result !== 'open' && !closedAt.has(id)) closedAt.set(id, event.at);
    }
  });
  return closedAt;
}

export function viewOf(home: RealHome): SessionView {
  const view = home.service().app.session();
  if (view === null) throw new Error('there is no session');
  return view;
}

/** A person of the configuration at the service's own door, where a value can be typed. */
export async function apiAs(home: RealHome, name: string, url: string): Promise<ApiClient> {
  return apiClient(url, (await readFile(join(home.folder, 'secrets', name), 'utf8')).trim());
}

/** Answers a question that the hub shows with a value; gives what was said where it was not taken. */
export async function typeAs(home: RealHome, api: ApiClient, step: string, value: number): Promise<string> {
  const { session, nonce } = (await home.asked(step)).attributes;
  await readForTwoSeconds();
  const { accepted, why } = await api.confirm({ session: String(session), step, nonce: String(nonce), value });
  await eventually('another state to show', async () => (await home.session()).attributes['nonce'] !== nonce);
  return accepted ? '' : why;
}

/** Rows of one kind side by side. */
export function table(rows: readonly (readonly (string | number)[])[]): string {
  const widths = (rows[0] ?? []).map((_, column) => Math.max(...rows.map((row) => String(row[column]).length)));
  return rows
    .map((row) =>
      row
        .map((cell, column) => String(cell).padEnd(widths[column] ?? 0))
        .join('  ')
        .trimEnd(),
    )
    .join('\n');
}

/** What happened, step by step: how far, by what evidence, and how long after the beginning. */
export function stepTable(home: RealHome, closedAt: ReadonlyMap<string, number>, beganAt: number): string {
  const rows = viewOf(home).steps.map(({ id, rule, result, evidence, evidenceText }) => {
    const at = closedAt.get(id);
    const seconds = at === undefined ? '' : ((at - beganAt) / 1000).toFixed(1);
    return [seconds, id, rule, result, evidence ?? '-', evidenceText];
  });
  return table([['s', 'step', 'rule', 'result', 'rung', 'seen'], ...rows]);
}
