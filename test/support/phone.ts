import { createServer } from 'node:http';
import { rest } from './hub-client.ts';
import type { AtEnd } from './real-hub.ts';

/** A push as the hub sends it to a phone's maker. */
export type Push = {
  readonly message: string;
  readonly title?: string;
  readonly data?: Readonly<Record<string, unknown>>;
};

export type Phone = {
  /** The hub's notify service for this phone. */
  readonly service: string;
  /** Everything pushed so far, oldest first. */
  readonly pushes: readonly Push[];
  /** The owner taps a button of a notification; the hub then knows who it was. */
  tap(action: string, data?: Readonly<Record<string, unknown>>): Promise<void>;
  close(): Promise<void>;
};

/** Pairs a phone with the hub in the owner's name. Its pushes come to a server on the loopback instead of to its maker. */
export async function pairPhone(
  owner: { readonly url: string; readonly token: string },
  name: string,
  test?: AtEnd,
): Promise<Phone> {
  const pushes: Push[] = [];
  const server = createServer((request, response) => {
    const pieces: Buffer[] = [];
    request.on('data', (piece: Buffer) => pieces.push(piece));
    request.on('end', () => {
      pushes.push(JSON.parse(Buffer.concat(pieces).toString('utf8')) as Push);
      response.writeHead(201, { 'content-type': 'application/json' }).end('{}');
    });
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const address = server.address();
  if (address === null || typeof address === 'string') throw new Error('the system gave no port');
  const slug = name.toLowerCase().replaceAll(/\W+/g, '_');
  const { webhook_id: webhook } = await rest<{ readonly webhook_id: string }>(
    owner,
    'POST',
    '/api/mobile_app/registrations',
    {
      app_id: 'test.phone',
      app_name: 'Test phone',
      app_version: '1',
      device_id: slug,
      device_name: name,
      manufacturer: 'none',
      model: 'none',
      os_name: 'none',
      os_version: '1',
      supports_encryption: false,
      app_data: { push_token: slug, push_url: `http://127.0.0.1:${address.port}/push` },
    },
  );
  const phone: Phone = {
    service: `notify.mobile_app_${slug}`,
    pushes,
    async tap(action, data = {}) {
      await rest(owner, 'POST', `/api/webhook/${webhook}`, {
        type: 'fire_event',
        data: { event_type: 'mobile_app_notification_action', event_data: { action, ...data } },
      });
    },
    async close() {
      server.closeAllConnections();
      await new Promise((resolve) => server.close(resolve));
    },
  };
  test?.after(() => phone.close());
  return phone;
}
