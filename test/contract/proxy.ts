import { connect, createServer, type Socket } from 'node:net';

/**
 * Stands between the service and a hub, so that a link can be cut, held or counted without the hub's help and in the same
 * way for every hub.
 */
export type LinkProxy = {
  readonly url: string;
  /** Socket upgrades asked for so far. */
  upgrades(): number;
  /** Cuts every connection at once. */
  cut(): void;
  /** New connections are closed at once while true. */
  refuse(on: boolean): void;
  /** While true, nothing from the hub gets through; what the service sends does. */
  holdAnswers(on: boolean): void;
  /** Bytes that went to the hub so far. */
  sentBytes(): number;
  close(): Promise<void>;
};

type Pair = { readonly client: Socket; readonly hub: Socket };

export async function startProxy(hubUrl: string): Promise<LinkProxy> {
  const hubPort = Number(new URL(hubUrl).port);
  const pairs = new Set<Pair>();
  let [upgrades, sent, refusing, holding] = [0, 0, false, false];

  const join = (client: Socket): void => {
    const hub = connect(hubPort, '127.0.0.1');
    const pair = { client, hub };
    pairs.add(pair);
    const end = (): void => {
      pairs.delete(pair);
      client.destroy();
      hub.destroy();
    };
    client.on('data', (data) => {
      if (data.toString('latin1').startsWith('GET /api/websocket')) upgrades += 1;
      sent += data.length;
      hub.write(data);
    });
    hub.on('data', (data) => client.write(data));
    if (holding) hub.pause();
    for (const socket of [client, hub]) socket.on('close', end).on('error', end);
  };

  const server = createServer((client) => {
    if (refusing) client.destroy();
    else join(client);
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const address = server.address();
  if (address === null || typeof address === 'string') throw new Error('the proxy has no port');

  const cut = (): void => {
    for (const { client, hub } of pairs) {
      client.destroy();
      hub.destroy();
    }
  };
  return {
    url: `http://127.0.0.1:${address.port}`,
    upgrades: () => upgrades,
    sentBytes: () => sent,
    cut,
    refuse(on) {
      refusing = on;
    },
    holdAnswers(on) {
      holding = on;
      for (const { hub } of pairs) {
        if (on) hub.pause();
        else hub.resume();
      }
    },
    async close() {
      cut();
      await new Promise<void>((resolve) => server.close(() => resolve()));
    },
  };
}
