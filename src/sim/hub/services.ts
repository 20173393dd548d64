// The hub's services: who offers what, and how a call finds its entities.
import type { HubContext } from './states.ts';

/** A refusal in the hub's own words: `code` goes on the wire. */
export class HubRefusal extends Error {
  readonly code: string;
  constructor(code: string, message: string) {
    super(message);
    this.code = code;
  }
}

export type ServiceCall = {
  readonly domain: string;
  readonly service: string;
  readonly data: Readonly<Record<string, unknown>>;
  readonly entities: readonly string[];
  readonly context: HubContext;
};

export type ServiceHandler = (call: ServiceCall) => void;

export type Services = {
  register(domain: string, service: string, handler: ServiceHandler): void;
  unregister(domain: string, service: string): void;
  call(domain: string, service: string, data: unknown, target: unknown, context: HubContext): void;
  list(): Readonly<Record<string, Readonly<Record<string, unknown>>>>;
};

export function createServices(): Services {
  const handlers = new Map<string, ServiceHandler>();
  return {
    register: (domain, service, handler) => {
      handlers.set(`${domain}.${service}`, handler);
    },
    unregister: (domain, service) => {
      handlers.delete(`${domain}.${service}`);
    },
    call(domain, service, data, target, context) {
      const handler = handlers.get(`${domain}.${service}`);
      if (handler === undefined) throw new HubRefusal('not_found', `Service ${domain}.${service} not found.`);
      const fields = asRecord(data);
      const entities = [...entityList(asRecord(target)['entity_id']), ...entityList(fields['entity_id'])];
      handler({ domain, service, data: fields, entities, context });
    },
    list() {
      const byDomain: Record<string, Record<string, unknown>> = {};
      for (const key of handlers.keys()) {
        const [domain = '', service = ''] = key.split('.');
        byDomain[domain] ??= {};
        byDomain[domain][service] = { fields: {} };
      }
      return byDomain;
    },
  };
}

export function asRecord(value: unknown): Readonly<Record<string, unknown>> {
  return typeof value === 'object' && value !== null && !Array.isArray(value)
    ? (value as Readonly<Record<string, unknown>>)
    : {};
}

export function entityList(value: unknown): readonly string[] {
  if (typeof value === 'string') return value.split(',').map((part) => part.trim());
  return Array.isArray(value) ? value.filter((part): part is string => typeof part === 'string') : [];
}
