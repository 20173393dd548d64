import { readFileSync } from 'node:fs';

const PACKAGE = new URL('../../package.json', import.meta.url);

export const programVersion = (): string =>
  (JSON.parse(readFileSync(PACKAGE, 'utf8')) as { readonly version: string }).version;
