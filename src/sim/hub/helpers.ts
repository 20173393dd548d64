// The hub's helpers (buttons, booleans, numbers, texts): made over the socket, kept across restarts.
import type { Registry } from './registry.ts';
import { asRecord, HubRefusal, type ServiceCall, type Services } from './services.ts';
import type { States } from './states.ts';
import { isoText } from './wire.ts';

export const HELPER_DOMAINS = ['input_button', 'input_boolean', 'input_number', 'input_text'] as const;
export type HelperDomain = (typeof HELPER_DOMAINS)[number];

type Helper = {
  readonly id: string;
  readonly domain: HelperDomain;
  readonly entity: string;
  readonly fields: Readonly<Record<string, unknown>>;
};

export type Helpers = {
  list(domain: HelperDomain): readonly unknown[];
  create(domain: HelperDomain, fields: Readonly<Record<string, unknown>>): Readonly<Record<string, unknown>>;
  update(domain: HelperDomain, id: string, fields: Readonly<Record<string, unknown>>): unknown;
  delete(domain: HelperDomain, id: string): void;
  /** Puts them back after a restart: a button forgets nothing but shows its last press, the others their last value. */
  restore(): void;
};

type Surroundings = {
  readonly states: States;
  readonly services: Services;
  readonly registry: Registry;
  readonly now: () => number;
};

export function createHelpers({ states, services, registry, now }: Surroundings): Helpers {
  const helpers = new Map<string, Helper>();
  const values = new Map<string, string>();
  const inDomain = (domain: HelperDomain): Helper[] => [...helpers.values()].filter((one) => one.domain === domain);
  const find = (domain: HelperDomain, id: string): Helper => {
    const helper = helpers.get(`${domain}/${id}`);
    if (helper === undefined) throw new HubRefusal('not_found', `Unable to find ${domain}_id ${id}`);
    return helper;
  };
  const show = (helper: Helper): void => {
    const { name, icon, min, max, step, mode, unit_of_measurement: unit } = helper.fields;
    const known = { friendly_name: name, icon, min, max, step, mode, unit_of_measurement: unit, editable: true };
    const attributes = Object.fromEntries(Object.entries(known).filter(([, value]) => value !== undefined));
    states.set(helper.entity, values.get(helper.entity) ?? firstValue(helper), attributes);
  };
  registerHelperServices({ states, services, now }, (entity, value) => values.set(entity, value));
  return {
    list: (domain) => inDomain(domain).map(({ id, fields }) => ({ id, ...fields })),
    create(domain, fields) {
      const name = typeof fields['name'] === 'string' ? fields['name'].trim() : '';
      if (name === '') throw new HubRefusal('invalid_format', "required key not provided @ data['name']");
      const id = free(slug(name), (candidate) => helpers.has(`${domain}/${candidate}`));
      const entity = `${domain}.${free(slug(name), (candidate) => states.get(`${domain}.${candidate}`) !== undefined)}`;
      const kept = Object.fromEntries(Object.entries(fields).filter(([key]) => key !== 'id' && key !== 'type'));
      const helper: Helper = { id, domain, entity, fields: { ...kept, name } };
      helpers.set(`${domain}/${id}`, helper);
      registry.add({ entity, uniqueId: id, platform: domain, name });
      show(helper);
      return { id, ...helper.fields };
    },
    update(domain, id, fields) {
      const helper = find(domain, id);
      const kept = Object.fromEntries(
        Object.entries(fields).filter(([key]) => !['id', 'type', `${domain}_id`].includes(key)),
      );
      const next = { ...helper, fields: { ...helper.fields, ...kept } };
      helpers.set(`${domain}/${id}`, next);
      show(next);
      return { id, ...next.fields };
    },
    delete(domain, id) {
      const helper = find(domain, id);
      helpers.delete(`${domain}/${id}`);
      values.delete(helper.entity);
      registry.remove(helper.entity);
      states.remove(helper.entity);
    },
    restore() {
      for (const helper of helpers.values()) show(helper);
    },
  };
}

function registerHelperServices(
  { states, services, now }: Omit<Surroundings, 'registry'>,
  keep: (entity: string, value: string) => void,
): void {
  const write =
    (value: (call: ServiceCall, entity: string) => string) =>
    (call: ServiceCall): void => {
      for (const entity of call.entities) {
        if (states.get(entity) === undefined) continue; // the hub only logs unknown targets
        const text = value(call, entity);
        keep(entity, text);
        states.set(entity, text, undefined, call.context);
      }
    };
  services.register(
    'input_button',
    'press',
    write(() => isoText(now())),
  );
  services.register(
    'input_boolean',
    'turn_on',
    write(() => 'on'),
  );
  services.register(
    'input_boolean',
    'turn_off',
    write(() => 'off'),
  );
  services.register(
    'input_boolean',
    'toggle',
    write((_, entity) => (states.get(entity)?.state === 'on' ? 'off' : 'on')),
  );
  services.register(
    'input_text',
    'set_value',
    write((call) => String(call.data['value'] ?? '')),
  );
  services.register(
    'input_number',
    'set_value',
    write((call, entity) => {
      const value = Number(call.data['value']);
      const { min, max } = asRecord(states.get(entity)?.attributes);
      if (!Number.isFinite(value) || value < Number(min) || value > Number(max)) {
        throw new HubRefusal(
          'service_validation_error',
          `Invalid value for ${entity}: ${value} (range ${min} - ${max})`,
        );
      }
      return String(value);
    }),
  );
}

function firstValue(helper: Helper): string {
  const initial = helper.fields['initial'];
  if (helper.domain === 'input_boolean') return initial === true ? 'on' : 'off';
  if (helper.domain === 'input_number') return String(initial ?? helper.fields['min'] ?? 0);
  return initial === undefined ? 'unknown' : String(initial);
}

export function slug(name: string): string {
  const text = name
    .toLowerCase()
    .replaceAll(/[^a-z0-9]+/g, '_')
    .replaceAll(/^_+|_+$/g, '');
  return text === '' ? 'unknown' : text;
}

function free(wanted: string, taken: (candidate: string) => boolean): string {
  let candidate = wanted;
  for (let number = 2; taken(candidate); number += 1) candidate = `${wanted}_${number}`;
  return candidate;
}
