// Socket commands that ask once and get one answer.
import type { InstantMs } from '../../units/index.ts';
import { configOf, type HubCore, notificationRows } from './core.ts';
import { HELPER_DOMAINS, type HelperDomain } from './helpers.ts';
import { registryDisplay, registryRow } from './registry.ts';
import { asRecord, entityList, HubRefusal } from './services.ts';
import { STATISTICS_COMMANDS } from './statistics-commands.ts';
import type { HubUser } from './users.ts';
import { longState } from './wire.ts';

export type Message = Readonly<Record<string, unknown>>;
export type Command = (core: HubCore, user: HubUser, message: Message) => unknown;

export const COMMANDS: ReadonlyMap<string, Command> = new Map<string, Command>([
  ['get_config', (core) => configOf(core)],
  ['get_states', (core) => core.states.all().map(longState)],
  ['get_services', (core) => core.services.list()],
  ['call_service', callService],
  ['fire_event', fireEvent],
  ['history/history_during_period', historyDuringPeriod],
  ...STATISTICS_COMMANDS,
  ['config/entity_registry/list', (core) => core.registry.all().map(registryRow)],
  ['config/entity_registry/list_for_display', (core) => registryDisplay(core.registry.all())],
  ['config/entity_registry/update', updateRegistry],
  ['config/device_registry/list', () => []],
  ['config/area_registry/list', () => []],
  ['persistent_notification/get', (core) => notificationRows(core)],
  ['lovelace/dashboards/list', (core) => [...core.dashboards.values()].map(({ meta }) => meta)],
  ['lovelace/dashboards/create', createDashboard],
  ['lovelace/config', dashboardConfig],
  ['lovelace/config/save', saveDashboard],
  ['lovelace/info', () => ({ resource_mode: 'storage' })],
  ['auth/current_user', (_, user) => currentUser(user)],
  ['auth/long_lived_access_token', (core, user) => core.users.issueToken(user.id)],
  ['config/auth/list', admin((core) => core.users.all().map(userRow))],
  ['config/auth/create', admin(createUser)],
  ['config/auth_provider/homeassistant/create', admin(createLogin)],
  ['frontend/get_user_data', () => ({ value: null })],
  ...HELPER_DOMAINS.flatMap(helperCommands),
]);

function admin(command: Command): Command {
  return (core, user, message) => {
    if (!user.administrator) throw new HubRefusal('unauthorized', 'Unauthorized');
    return command(core, user, message);
  };
}

function helperCommands(domain: HelperDomain): (readonly [string, Command])[] {
  const id = (message: Message): string => String(message[`${domain}_id`]);
  return [
    [`${domain}/list`, (core) => core.helpers.list(domain)],
    [`${domain}/create`, admin((core, _, { id: _id, type: _type, ...fields }) => core.helpers.create(domain, fields))],
    [`${domain}/update`, admin((core, _, message) => core.helpers.update(domain, id(message), message))],
    [`${domain}/delete`, admin((core, _, message) => core.helpers.delete(domain, id(message)) ?? null)],
  ];
}

function callService(core: HubCore, user: HubUser, message: Message): unknown {
  const context = core.states.context(user.id);
  const [domain, service] = [String(message['domain']), String(message['service'])];
  core.services.call(domain, service, message['service_data'], message['target'], context);
  return { context: { id: context.id, parent_id: null, user_id: user.id }, response: null };
}

function fireEvent(core: HubCore, user: HubUser, message: Message): unknown {
  if (!user.administrator) throw new HubRefusal('unauthorized', 'Unauthorized');
  const context = core.states.context(user.id);
  core.states.fire(String(message['event_type']), asRecord(message['event_data']), context);
  return { context: { id: context.id, parent_id: null, user_id: user.id } };
}

function historyDuringPeriod(core: HubCore, _: HubUser, message: Message): unknown {
  const from = instant(message['start_time'], 'start_time');
  const to = message['end_time'] === undefined ? null : instant(message['end_time'], 'end_time');
  if (from > core.system.clock.now()) return {};
  const flag = (key: string, otherwise: boolean): boolean =>
    typeof message[key] === 'boolean' ? message[key] : otherwise;
  return core.recorder.query({
    from,
    to,
    entities: entityList(message['entity_ids']),
    includeStart: flag('include_start_time_state', true),
    significantOnly: flag('significant_changes_only', true),
    minimal: flag('minimal_response', false),
    noAttributes: flag('no_attributes', false),
  });
}

function instant(value: unknown, field: string): InstantMs {
  const text = typeof value === 'string' ? value : '';
  const at = Date.parse(text);
  if (Number.isNaN(at)) throw new HubRefusal(`invalid_${field}`, `Invalid ${field}`);
  // Microseconds, which Date cuts off.
  const fraction = /\.\d{3}(\d{1,3})/.exec(text)?.[1];
  return fraction === undefined ? at : at + Number(fraction.padEnd(3, '0')) / 1000;
}

function updateRegistry(core: HubCore, user: HubUser, message: Message): unknown {
  if (!user.administrator) throw new HubRefusal('unauthorized', 'Unauthorized');
  const entity = String(message['entity_id']);
  const to = message['new_entity_id'];
  if (!core.registry.has(entity)) throw new HubRefusal('not_found', 'Entity not found');
  if (typeof to === 'string') {
    if (core.registry.has(to)) throw new HubRefusal('invalid_info', 'Entity with this ID is already registered');
    core.registry.rename(entity, to);
  }
  const row = core.registry.all().find((entry) => entry.entity === (typeof to === 'string' ? to : entity));
  return { entity_entry: row === undefined ? null : registryRow(row) };
}

function createDashboard(core: HubCore, user: HubUser, message: Message): unknown {
  if (!user.administrator) throw new HubRefusal('unauthorized', 'Unauthorized');
  const { id: _id, type: _type, ...fields } = message;
  const path = String(fields['url_path'] ?? '');
  if (!path.includes('-')) throw new HubRefusal('invalid_format', 'Url path needs to contain a hyphen (-)');
  if (core.dashboards.has(path)) {
    throw new HubRefusal('home_assistant_error', `Panel url path ${path} is not unique`);
  }
  const meta = {
    id: path.replaceAll('-', '_'),
    mode: 'storage',
    require_admin: false,
    show_in_sidebar: true,
    ...fields,
    url_path: path,
  };
  core.dashboards.set(path, { meta, config: null });
  return meta;
}

function dashboardConfig(core: HubCore, _: HubUser, message: Message): unknown {
  const config = core.dashboards.get(String(message['url_path'] ?? ''))?.config ?? null;
  if (config === null) throw new HubRefusal('config_not_found', 'No config found.');
  return config;
}

function saveDashboard(core: HubCore, user: HubUser, message: Message): unknown {
  if (!user.administrator) throw new HubRefusal('unauthorized', 'Unauthorized');
  const path = String(message['url_path'] ?? '');
  const dashboard = core.dashboards.get(path);
  if (dashboard === undefined) throw new HubRefusal('config_not_found', `Unknown config specified: ${path}`);
  dashboard.config = message['config'];
  return null;
}

function currentUser(user: HubUser): unknown {
  return {
    id: user.id,
    name: user.name,
    is_owner: user.owner,
    is_admin: user.administrator,
    credentials: [],
    mfa_modules: [],
  };
}

function userRow(user: HubUser): unknown {
  return {
    id: user.id,
    username: user.username,
    name: user.name,
    is_owner: user.owner,
    is_active: true,
    local_only: false,
    system_generated: false,
    group_ids: [user.administrator ? 'system-admin' : 'system-users'],
    credentials: user.username === null ? [] : [{ type: 'homeassistant' }],
  };
}

function createUser(core: HubCore, _: HubUser, message: Message): unknown {
  const groups = entityList(message['group_ids']);
  const user = core.users.add(String(message['name']), { administrator: groups.includes('system-admin') });
  return { user: userRow(user) };
}

function createLogin(core: HubCore, _: HubUser, message: Message): unknown {
  core.users.setLogin(String(message['user_id']), String(message['username']), String(message['password']));
  return null;
}
