import { stringify } from 'yaml';

/** The newest hub that Python 3.13.0 takes. A newer one needs Python 3.14, which few machines have yet. */
export const hubVersion = '2025.4.4';

export type HubConfig = {
  readonly port: number;
  /** IANA zone of the home. */
  readonly timeZone: string;
  readonly purgeKeepDays: number;
  /** More top-level YAML by name; the hub itself merges it (lists are joined, maps are merged). */
  readonly packages: Readonly<Record<string, string>>;
};

/** The hub reads YAML 1.1, where a bare `off` is a boolean. */
export const hubYaml = { version: '1.1', aliasDuplicateObjects: false } as const;

/** The folder of packages lies beside configuration.yaml; one file a package. */
export const packagesFolder = 'packages';

/** What every test hub loads. Integrations that fetch from the internet are left out, so that a boot needs no network. */
export function configurationYaml(config: HubConfig): string {
  const settings = {
    homeassistant: {
      name: 'Test home',
      time_zone: config.timeZone,
      unit_system: 'metric',
      country: 'DE',
      currency: 'EUR',
      latitude: 52.5,
      longitude: 13.4,
      elevation: 35,
      packages: 'INCLUDE_PACKAGES',
    },
    http: { server_host: '127.0.0.1', server_port: config.port },
    // Commit at once, so that a test may read back what it just did; the real default is 5 s and the product must wait for it.
    recorder: { commit_interval: 0, purge_keep_days: config.purgeKeepDays, auto_purge: false },
    logger: { default: 'warning' },
    api: {},
    websocket_api: {},
    config: {},
    frontend: {},
    history: {},
    logbook: {},
    system_log: {},
    persistent_notification: {},
    mobile_app: {},
    notify: [],
    automation: [],
    script: {},
    scene: [],
    template: [],
    timer: {},
    input_boolean: {},
    input_number: {},
    input_button: {},
    input_text: {},
    input_select: {},
    input_datetime: {},
  };
  return stringify(settings, hubYaml).replace('INCLUDE_PACKAGES', `!include_dir_named ${packagesFolder}`);
}
