import { eventually } from './eventually.ts';
import { type HubClient, type HubState, hubClient, rest } from './hub-client.ts';

type Address = { readonly url: string; readonly token: string };

export async function callService(
  hub: HubClient,
  service: `${string}.${string}`,
  entity?: string | readonly string[],
  data: Readonly<Record<string, unknown>> = {},
): Promise<void> {
  const [domain, name] = service.split('.');
  await hub.call({
    type: 'call_service',
    domain,
    service: name,
    service_data: data,
    ...(entity === undefined ? {} : { target: { entity_id: entity } }),
  });
}

export async function getStates(hub: HubClient): Promise<ReadonlyMap<string, HubState>> {
  const states = await hub.call<HubState[]>({ type: 'get_states' });
  return new Map(states.map((state) => [state.entity_id, state]));
}

/**
 * One entity over REST. Its `last_reported` may be old: the hub keeps the text of a state from the first time it was
 * asked for until the state changes, in REST and in get_states alike. `trueLastReportedMs` is not fooled by that.
 */
export async function restState(hub: Address, entity: string): Promise<HubState> {
  return rest<HubState>(hub, 'GET', `/api/states/${entity}`);
}

/** When the entity last reported, changed or not, as the hub itself knows it; rendered, because listings may be old. */
export async function trueLastReportedMs(hub: HubClient, entity: string): Promise<number> {
  const rendered = Promise.withResolvers<number>();
  const template = `{{ states['${entity}'].last_reported.timestamp() }}`;
  const end = await hub.subscribe({ type: 'render_template', template, report_errors: true }, (event) => {
    const { result, error } = event as { readonly result?: number; readonly error?: string };
    if (result === undefined) rendered.reject(new Error(`the hub could not render ${template}: ${error}`));
    else rendered.resolve(result * 1000);
  });
  try {
    return await rendered.promise;
  } finally {
    await end();
  }
}

/** Writes to the hub's state machine only; no device is touched, and the entity is gone after a restart. */
export async function postState(
  hub: Address,
  entity: string,
  state: string,
  attributes: Readonly<Record<string, unknown>> = {},
): Promise<void> {
  await rest(hub, 'POST', `/api/states/${entity}`, { state, attributes });
}

export async function fireEvent(
  hub: Address,
  type: string,
  data: Readonly<Record<string, unknown>> = {},
): Promise<void> {
  await rest(hub, 'POST', `/api/events/${type}`, data);
}

/** Waits until the hub itself shows the entity in a state that `wanted` accepts. */
export async function waitForState(
  hub: HubClient,
  entity: string,
  wanted: string | ((state: HubState) => boolean),
): Promise<HubState> {
  const accepts = typeof wanted === 'string' ? (state: HubState) => state.state === wanted : wanted;
  return eventually(`${entity} to be ${typeof wanted === 'string' ? wanted : 'as wanted'}`, async () => {
    const state = (await getStates(hub)).get(entity);
    return state !== undefined && accepts(state) ? state : undefined;
  });
}

export type HistoryRow = { readonly state: string; readonly atMs: number };

/** What the hub's recorder kept for the entities in [fromMs, toMs], oldest first. The first row may be the state at the start. */
export async function historyOf(
  hub: HubClient,
  entities: readonly string[],
  fromMs: number,
  toMs: number,
): Promise<ReadonlyMap<string, readonly HistoryRow[]>> {
  const rows = await hub.call<Record<string, { readonly s: string; readonly lu: number; readonly lc?: number }[]>>({
    type: 'history/history_during_period',
    start_time: new Date(fromMs).toISOString(),
    end_time: new Date(toMs).toISOString(),
    entity_ids: entities,
    include_start_time_state: true,
    significant_changes_only: false,
    minimal_response: false,
    no_attributes: true,
  });
  return new Map(
    Object.entries(rows).map(([entity, list]) => [
      entity,
      list.map((row) => ({ state: row.s, atMs: (row.lc ?? row.lu) * 1000 })),
    ]),
  );
}

export type HubPerson = {
  readonly userId: string;
  readonly username: string;
  readonly token: string;
  /** A socket logged in as that person. */
  connect(): Promise<HubClient>;
};

/** Logs a person in the way the hub's own page does and gives an access token. */
export async function logIn(url: string, username: string, password: string): Promise<string> {
  const clientId = `${url}/`;
  const post = async (path: string, body: unknown): Promise<Record<string, unknown>> => {
    const headers = { 'content-type': 'application/json' };
    const response = await fetch(url + path, { method: 'POST', headers, body: JSON.stringify(body) });
    return (await response.json()) as Record<string, unknown>;
  };
  const flow = await post('/auth/login_flow', {
    client_id: clientId,
    handler: ['homeassistant', null],
    redirect_uri: `${clientId}?auth_callback=1`,
  });
  const done = await post(`/auth/login_flow/${flow['flow_id']}`, { client_id: clientId, username, password });
  if (done['type'] !== 'create_entry') throw new Error(`the hub refused ${username}: ${JSON.stringify(done)}`);
  return tokenForCode(url, String(done['result']));
}

export async function tokenForCode(url: string, code: string): Promise<string> {
  const form = new URLSearchParams({ grant_type: 'authorization_code', code, client_id: `${url}/` });
  const response = await fetch(`${url}/auth/token`, { method: 'POST', body: form });
  const tokens = (await response.json()) as { readonly access_token?: string };
  if (tokens.access_token === undefined) throw new Error(`the hub gave no token: ${JSON.stringify(tokens)}`);
  return tokens.access_token;
}

/** Makes a second person in the hub; not an administrator unless asked for. `admin` is a socket of an administrator. */
export async function createPerson(
  admin: HubClient,
  name: string,
  options: { readonly administrator?: boolean } = {},
): Promise<HubPerson> {
  const username = name.toLowerCase().replaceAll(/\W/g, '');
  const password = `${username}-pass-1`;
  const group = options.administrator === true ? 'system-admin' : 'system-users';
  const { user } = await admin.call<{ user: { id: string } }>({
    type: 'config/auth/create',
    name,
    group_ids: [group],
    local_only: false,
  });
  await admin.call({
    type: 'config/auth_provider/homeassistant/create',
    user_id: user.id,
    username,
    password,
  });
  const token = await logIn(admin.url, username, password);
  return { userId: user.id, username, token, connect: () => hubClient(admin.url, token) };
}

/** Presses a helper button as the person whose socket this is. */
export async function press(hub: HubClient, button: string): Promise<void> {
  await callService(hub, 'input_button.press', button);
}
