import { readFile, stat } from 'node:fs/promises';
import { resolve } from 'node:path';
import { type Config, loadConfig, type SecretPlace } from '../config/index.ts';
import { problem, problemFrom } from '../errors/index.ts';
import { type ApiClient, apiClient, readCredential } from '../web/index.ts';

export const DEFAULT_FILE = 'slackwater.yaml';

export type Loaded = { readonly config: Config; readonly file: string; readonly warnings: readonly string[] };

/** Reads and checks the configuration; every problem in it is told at once. */
export async function readConfig(file: string): Promise<Loaded> {
  const path = resolve(file);
  let text: string;
  try {
    text = await readFile(path, 'utf8');
  } catch (error) {
    throw problemFrom(error, 'SW-CLI-009', { file: path });
  }
  const { config, warnings } = loadConfig(text, path);
  return { config, file: path, warnings };
}

/** The hub's token from where the configuration points: an environment variable, or a file only its owner can read. */
export async function hubToken({ config }: Loaded): Promise<string> {
  return secretAt(config.hub.token, 'the hub');
}

/** A secret from where the configuration points; `what` says whose in the words of an error. */
export async function secretAt(place: SecretPlace, what: string): Promise<string> {
  if ('file' in place) return readCredential(place.file, what);
  const found = process.env[place.env]?.trim();
  if (found === undefined || found === '')
    throw problem('SW-CFG-021', { what, where: `the environment variable ${place.env}` });
  return found;
}

/** A client of the running service, with the credential of the named person, or the first person of the configuration. */
export async function serviceClient(loaded: Loaded, as: string | undefined): Promise<ApiClient> {
  const { access, api } = loaded.config;
  const entry =
    as === undefined
      ? (access.find((one) => one.kind === 'person') ?? access[0])
      : access.find((one) => [one.id, one.name].some((known) => known.toLowerCase() === as.toLowerCase()));
  if (entry === undefined) {
    const known = access.map((one) => one.id).join(', ');
    throw problem('SW-CLI-014', { found: as ?? '(nobody)', known: known === '' ? 'nobody yet' : known });
  }
  const url = `http://${api.host.includes(':') ? `[${api.host}]` : api.host}:${api.port}`;
  const exists = await stat(entry.tokenFile).then(
    () => true,
    () => false,
  );
  // The credential is made when the service first starts; without it there is nobody to ask.
  if (!exists) throw problem('SW-CLI-004', { url });
  return apiClient(url, await readCredential(entry.tokenFile));
}
