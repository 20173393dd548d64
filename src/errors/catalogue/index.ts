import { ACCLIMATION_ERRORS } from './acclimation.ts';
import { API_ERRORS } from './api.ts';
import { CFG_ERRORS } from './cfg.ts';
import { CLI_ERRORS } from './cli.ts';
import { GUARD_ERRORS } from './guard.ts';
import { HUB_ERRORS } from './hub.ts';
import { PUBLISH_ERRORS } from './publish.ts';
import { RECORD_ERRORS } from './record.ts';
import { SES_ERRORS } from './session.ts';
import { STORE_ERRORS } from './store.ts';
import { WATER_ERRORS } from './water.ts';

/** Areas in the order of the reference page. A new area needs a line here and nothing else. */
export const AREAS = [
  { prefix: 'SW-CFG', title: 'Configuration', entries: CFG_ERRORS },
  { prefix: 'SW-HUB', title: 'Hub', entries: HUB_ERRORS },
  { prefix: 'SW-STORE', title: 'Store', entries: STORE_ERRORS },
  { prefix: 'SW-REC', title: 'Record', entries: RECORD_ERRORS },
  { prefix: 'SW-PUB', title: 'Publishing', entries: PUBLISH_ERRORS },
  { prefix: 'SW-SES', title: 'Sessions and claims', entries: SES_ERRORS },
  { prefix: 'SW-WAT', title: 'Water', entries: WATER_ERRORS },
  { prefix: 'SW-GRD', title: 'Guards and alarms', entries: GUARD_ERRORS },
  { prefix: 'SW-ACC', title: 'Light of new lamps', entries: ACCLIMATION_ERRORS },
  { prefix: 'SW-API', title: 'API', entries: API_ERRORS },
  { prefix: 'SW-CLI', title: 'Command line', entries: CLI_ERRORS },
] as const;

export const CATALOGUE = {
  ...CFG_ERRORS,
  ...HUB_ERRORS,
  ...STORE_ERRORS,
  ...RECORD_ERRORS,
  ...PUBLISH_ERRORS,
  ...SES_ERRORS,
  ...WATER_ERRORS,
  ...GUARD_ERRORS,
  ...ACCLIMATION_ERRORS,
  ...API_ERRORS,
  ...CLI_ERRORS,
} as const;

export type ErrorCode = keyof typeof CATALOGUE;
