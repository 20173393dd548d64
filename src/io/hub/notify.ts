import type { HubPress } from '../../ports/index.ts';
import type { Reminder } from '../../remind/index.ts';
import type { InstantMs } from '../../units/index.ts';
import { asFailure } from './deadline.ts';
import type { Link } from './link.ts';
import type { HubSetup } from './options.ts';

/** Action words carried back by a phone; the token in them says which reminder is meant. */
export const DONE_ACTION = 'SW_DONE_';
export const LATER_ACTION = 'SW_LATER_';

type Notice = { readonly notification_id: string; readonly title: string | null; readonly message: string };

export type Notifier = {
  /** Tells it once: where the hub already shows the very same words, nothing is sent. */
  notify(
    reminder: Reminder,
    notifyServices: readonly string[],
  ): Promise<{ readonly existing: boolean; readonly missingServices: readonly string[] }>;
  tell(
    message: { readonly key: string; readonly title: string; readonly message: string },
    notifyServices: readonly string[],
  ): Promise<void>;
  clearNotification(key: string, notifyServices: readonly string[]): Promise<void>;
};

/** Names of the notify services that exist now: a phone's comes and goes with the hub's restarts and the phone's name. */
async function presentServices(link: Link): Promise<ReadonlySet<string>> {
  const services = await link.call<Readonly<Record<string, Readonly<Record<string, unknown>>>>>({
    type: 'get_services',
  });
  return new Set(Object.keys(services['notify'] ?? {}));
}

const withoutDomain = (service: string): string => service.replace(/^notify\./, '');

export function createNotifier(link: Link, setup: HubSetup): Notifier {
  const log = setup.system.log;

  const call = (domain: string, service: string, data: unknown): Promise<unknown> =>
    link.call({ type: 'call_service', domain, service, service_data: data } as { type: string });

  /** A phone that cannot be reached must not keep the others from being told. */
  const tell = async (services: readonly string[], data: unknown): Promise<void> => {
    for (const service of services) {
      try {
        await call('notify', withoutDomain(service), data);
      } catch (error) {
        log.warn(`hub: ${service} failed: ${asFailure(error).message}`);
      }
    }
  };

  const split = async (services: readonly string[]): Promise<{ present: string[]; missing: string[] }> => {
    if (services.length === 0) return { present: [], missing: [] };
    const known = await presentServices(link);
    const isPresent = (service: string): boolean => known.has(withoutDomain(service));
    return { present: services.filter(isPresent), missing: services.filter((service) => !isPresent(service)) };
  };

  return {
    async notify(reminder, notifyServices) {
      const open = await link.call<readonly Notice[]>({ type: 'persistent_notification/get' });
      const before = open.find((notice) => notice.notification_id === reminder.key);
      const existing = before !== undefined;
      const { present, missing } = await split(notifyServices);
      const isSame = before?.title === reminder.title && before.message === reminder.message;
      if (isSame) return { existing, missingServices: missing };
      await tell(present, {
        title: reminder.title,
        message: reminder.message,
        data: {
          tag: reminder.key,
          actions: [
            { action: `${DONE_ACTION}${reminder.token}`, title: 'Done' },
            { action: `${LATER_ACTION}${reminder.token}`, title: 'Later' },
            { action: 'URI', title: 'Open', uri: setup.openPath },
          ],
        },
      });
      // Last, so that its being there means that the phones were told. A phone told twice replaces by the tag.
      await call('persistent_notification', 'create', {
        notification_id: reminder.key,
        title: reminder.title,
        message: reminder.message,
      });
      return { existing, missingServices: missing };
    },
    async tell({ key, title, message }, notifyServices) {
      // The hub's own notice needs nothing that could be missing, so it goes first.
      await call('persistent_notification', 'create', { notification_id: key, title, message });
      const { present, missing } = await split(notifyServices);
      if (missing.length > 0) log.warn(`hub: not told, since the hub has no ${missing.join(', ')}`);
      await tell(present, { title, message, data: { tag: key } });
    },
    async clearNotification(key, notifyServices) {
      await call('persistent_notification', 'dismiss', { notification_id: key });
      const { present } = await split(notifyServices);
      await tell(present, { message: 'clear_notification', data: { tag: key } });
    },
  };
}

/** An answer to one of our notifications; null = it is about somebody else's. */
export function takeAnswer(event: unknown, receivedAt: InstantMs): HubPress | null {
  const {
    data,
    time_fired: firedAt,
    context,
  } = event as {
    readonly data?: { readonly action?: unknown };
    readonly time_fired?: string;
    readonly context?: { readonly user_id?: string | null };
  };
  const action = data?.action;
  if (typeof action !== 'string' || !(action.startsWith(DONE_ACTION) || action.startsWith(LATER_ACTION))) return null;
  const at = Date.parse(firedAt ?? '');
  return {
    kind: 'notification',
    action,
    at: Number.isFinite(at) ? at : receivedAt,
    receivedAt,
    userId: context?.user_id ?? null,
  };
}
