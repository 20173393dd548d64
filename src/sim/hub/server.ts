// The hub on the network: one port for sockets and REST, that can go down, come back, drop its links or fall mute.
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { type WebSocket, WebSocketServer } from 'ws';
import { type LinkFault, serveConnection } from './connection.ts';
import type { HubCore } from './core.ts';
import { serveRest } from './rest.ts';

export type HubServer = {
  /** Opens the port; the same one again after a close. */
  open(): Promise<void>;
  close(): Promise<void>;
  dropLinks(): void;
  setLinkFault(fault: LinkFault): void;
  port(): number;
  links(): number;
};

const MAX_MESSAGE_BYTES = 16_000_000;

export function createHubServer(core: HubCore, wantedPort: number): HubServer {
  let server: Server | null = null;
  let port = wantedPort;
  let linkFault: LinkFault = 'none';
  const sockets = new Set<WebSocket>();
  const acceptor = new WebSocketServer({ noServer: true, maxPayload: MAX_MESSAGE_BYTES });
  acceptor.on('connection', (socket) => {
    sockets.add(socket);
    socket.on('close', () => sockets.delete(socket));
    serveConnection(core, socket, () => linkFault);
  });
  const dropLinks = (): void => {
    for (const socket of sockets) socket.terminate();
    sockets.clear();
  };

  function listener(): Server {
    const next = createServer((request, response) => {
      serveRest(core, request, response).catch((error: unknown) => {
        response.writeHead(500).end(String(error));
      });
    });
    next.on('upgrade', (request, socket, head) => {
      const path = new URL(request.url ?? '/', 'http://hub').pathname;
      if (path !== '/api/websocket' || linkFault === 'refuse') socket.destroy();
      else acceptor.handleUpgrade(request, socket, head, (opened) => acceptor.emit('connection', opened, request));
    });
    return next;
  }

  return {
    async open() {
      if (server !== null) return;
      const next = listener();
      server = next;
      await new Promise<void>((resolve, reject) => {
        next.once('error', reject);
        next.listen(port, '127.0.0.1', resolve);
      });
      port = (next.address() as AddressInfo).port;
    },
    async close() {
      const old = server;
      server = null;
      dropLinks();
      if (old === null) return;
      old.closeAllConnections();
      await new Promise<void>((resolve) => old.close(() => resolve()));
    },
    dropLinks,
    setLinkFault(fault) {
      linkFault = fault;
    },
    port: () => port,
    links: () => sockets.size,
  };
}
