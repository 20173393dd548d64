import assert from 'node:assert/strict';
import { after } from 'node:test';
import {
  type Connection,
  createConnection,
  createLongLivedTokenAuth,
  type HassEntities,
} from 'home-assistant-js-websocket';
import { type EntityState, type SimHub, type SimHubOptions, startSimHub } from '../../../src/sim/index.ts';
import { eventually } from '../../support/index.ts';
import { type HandClock, handClock } from './hand-clock.ts';

/** Kept short in most tests: a past of eighteen months is made only where it is looked at. */
export type Home = { readonly hub: SimHub; readonly system: HandClock };

export async function home(options: Partial<SimHubOptions> = {}): Promise<Home> {
  const system = handClock();
  const hub = await startSimHub({ seed: 7, historyDays: 0, ...options, system });
  after(() => hub.close());
  return { hub, system };
}

/** The library that real clients of the hub use, over the platform's own socket. */
export async function libraryConnection(hub: SimHub, token = hub.token): Promise<Connection> {
  const connection = await createConnection({ auth: createLongLivedTokenAuth(hub.url, token) });
  after(() => connection.close());
  return connection;
}

export function stateOf(hub: SimHub, entity: string): EntityState {
  const state = hub.state(entity);
  assert.ok(state, `${entity} is in the hub`);
  return state;
}

/** Lets simulated time pass until the hub shows the state; fails after `withinMs` of simulated time. */
export async function until(home: Home, what: string, holds: () => boolean, withinMs = 120_000): Promise<void> {
  for (let passed = 0; !holds(); passed += 500) {
    assert.ok(passed <= withinMs, `${what} within ${withinMs / 1000} s`);
    await home.system.play(500, 500);
  }
}

export async function entityIn(
  read: () => HassEntities | undefined,
  entity: string,
  state: string,
): Promise<HassEntities[string]> {
  return eventually(`${entity} to be ${state} at the client`, async () => {
    const seen = read()?.[entity];
    return seen?.state === state ? seen : undefined;
  });
}
