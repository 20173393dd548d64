import { createHub, type Hub, type HubOptions } from '../../src/io/hub/index.ts';
import type { EntityId } from '../../src/model/index.ts';
import type { Observation, Reading } from '../../src/observe/index.ts';
import type { HubChange, HubHandlers, HubPress } from '../../src/ports/index.ts';
import { type HubClient, hubClient } from '../support/hub-client.ts';
import { createPerson, type HubPerson } from '../support/hub-talk.ts';
import type { Home } from './home.ts';
import { type LinkProxy, startProxy } from './proxy.ts';

export type LinkNews = Parameters<HubHandlers['onLink']>[0];

/** Everything an edge passed on, in the order it came. */
export type Seen = {
  readonly observations: Observation[];
  readonly readings: Reading[];
  readonly presses: HubPress[];
  readonly changes: HubChange[];
  readonly links: LinkNews[];
  readonly refusals: string[];
  readonly logged: string[];
};

export type Edge = { readonly hub: Hub; readonly seen: Seen; start(): Promise<void> };

export type Bench = {
  readonly home: Home;
  readonly proxy: LinkProxy;
  /** Posted over REST by the suite; lives in the hub's memory like any state. */
  readonly probe: EntityId;
  readonly meter: EntityId;
  /** A socket of the service's own user, and one of another person; new ones after a restart of the hub. */
  client(): Promise<HubClient>;
  readonly person: HubPerson;
  asPerson(): Promise<HubClient>;
  /** A further edge; every one is stopped at the end. */
  edge(options?: Partial<HubOptions>): Edge;
  /** The edge most checks share, already up. */
  readonly shared: Edge;
  close(): Promise<void>;
};

const probe = 'sensor.contract_probe';
const meter = 'sensor.contract_meter';

export function entitiesOf(home: Home): HubOptions['entities'] {
  const { plug, otherPlug, driver } = home;
  const plugs = [plug.switch, plug.power, otherPlug.switch, otherPlug.power];
  return {
    observe: [...plugs, probe, meter],
    readings: plugs,
    commandable: [plug.switch, otherPlug.switch],
    drivers: [driver],
  };
}

function collect(): { readonly seen: Seen; readonly handlers: HubHandlers } {
  const seen: Seen = {
    observations: [],
    readings: [],
    presses: [],
    changes: [],
    links: [],
    refusals: [],
    logged: [],
  };
  return {
    seen,
    handlers: {
      onObservations: (batch) => seen.observations.push(...batch),
      onReadings: (readings) => seen.readings.push(...readings),
      onPress: (press) => seen.presses.push(press),
      onChange: (change) => seen.changes.push(change),
      onLink: (link) => seen.links.push(link),
      onRefused: (reason) => seen.refusals.push(reason),
    },
  };
}

export async function makeBench(home: Home): Promise<Bench> {
  const proxy = await startProxy(home.url);
  const edges: Edge[] = [];
  const clients: HubClient[] = [];
  const keep = async (making: Promise<HubClient>): Promise<HubClient> => {
    const client = await making;
    clients.push(client);
    return client;
  };

  const edge = (options: Partial<HubOptions> = {}): Edge => {
    const { seen, handlers } = collect();
    const write = (text: string): number => seen.logged.push(text);
    const hub = createHub({
      url: proxy.url,
      token: home.token,
      prefix: 'contract',
      entities: entitiesOf(home),
      system: { ...home.system, log: { info: write, warn: write, error: write } },
      settleMs: 200,
      retryMs: 100,
      retryMaxMs: 500,
      ...options,
    });
    const made: Edge = { hub, seen, start: () => hub.start(handlers).then(() => undefined) };
    edges.push(made);
    return made;
  };

  const owner = await keep(hubClient(home.url, home.token));
  const person = await createPerson(owner, 'Evening caretaker');
  const shared = edge();
  await shared.start();
  await shared.hub.leaveMark();
  return {
    home,
    proxy,
    probe,
    meter,
    person,
    shared,
    edge,
    client: () => keep(hubClient(home.url, home.token)),
    asPerson: () => keep(hubClient(home.url, person.token)),
    async close() {
      for (const { hub } of edges) await hub.stop();
      for (const client of clients) client.close();
      await proxy.close();
      await home.close();
    },
  };
}
