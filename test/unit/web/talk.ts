import { request as httpRequest } from 'node:http';
import { connect } from 'node:net';
import { type RunningApi, startApi } from '../../../src/web/index.ts';
import { type FakeFace, type FakeSystem, fakeFace, fakeSystem } from './fake-face.ts';

export const PERSON_TOKEN = 'person-token-of-forty-characters-0123456';
export const MACHINE_TOKEN = 'machine-token-of-forty-characters-012345';

export const ACCESS = [
  { name: 'Marit', kind: 'person', token: PERSON_TOKEN },
  { name: 'flows', kind: 'machine', token: MACHINE_TOKEN },
] as const;

export type Bench = { readonly api: RunningApi; readonly face: FakeFace; readonly system: FakeSystem };

export async function withApi(work: (bench: Bench) => Promise<void>): Promise<void> {
  const face = fakeFace();
  const system = fakeSystem();
  const api = await startApi({ face, host: '127.0.0.1', port: 0, access: ACCESS, system });
  try {
    await work({ api, face, system });
  } finally {
    await api.close();
  }
}

export type Sent = {
  readonly method?: string;
  readonly path: string;
  readonly token?: string | null;
  readonly headers?: Readonly<Record<string, string>>;
  readonly body?: string;
};

export type Got = {
  readonly status: number;
  readonly headers: Readonly<Record<string, string | string[] | undefined>>;
  readonly text: string;
  readonly json: Readonly<Record<string, unknown>>;
};

/** By hand rather than with fetch, which would not let a test choose the Host. */
export function send(api: RunningApi, sent: Sent): Promise<Got> {
  const { method = 'GET', path, token = PERSON_TOKEN, body } = sent;
  const headers: Record<string, string> = {
    ...(token === null ? {} : { authorization: `Bearer ${token}` }),
    ...(method === 'POST' ? { 'content-type': 'application/json' } : {}),
    ...(body === undefined ? {} : { 'content-length': String(Buffer.byteLength(body)) }),
    ...sent.headers,
  };
  return new Promise((resolve, reject) => {
    const request = httpRequest({ host: '127.0.0.1', port: api.port, method, path, headers }, (response) => {
      let text = '';
      response.setEncoding('utf8');
      response.on('data', (chunk) => {
        text += chunk;
      });
      response.on('end', () => {
        const isJson = (response.headers['content-type'] ?? '').startsWith('application/json');
        const json = isJson && text !== '' ? JSON.parse(text) : {};
        resolve({ status: response.statusCode ?? 0, headers: response.headers, text, json });
      });
      response.on('error', reject);
    });
    request.on('error', reject);
    request.end(body);
  });
}

/** Sends bytes as they are and gives all that came back until the server closed. */
export function sendRaw(api: RunningApi, bytes: string): Promise<string> {
  return new Promise((resolve, reject) => {
    const socket = connect(api.port, '127.0.0.1', () => socket.write(bytes));
    let text = '';
    socket.setEncoding('utf8');
    socket.on('data', (chunk) => {
      text += chunk;
    });
    socket.on('close', () => resolve(text));
    socket.on('error', reject);
  });
}
