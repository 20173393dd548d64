import type { GuardDef, Tank } from '../model/index.ts';
import type { DurationMs } from '../units/index.ts';

/** A credential of the loopback API. A person's may confirm, say "unplugged" and release claims; a machine's may look, start and abort. */
export type AccessEntry = {
  /** The key in the file. */
  readonly id: string;
  /** Of the person, as records show it; a machine's is its id. */
  readonly name: string;
  readonly kind: 'person' | 'machine';
  readonly tokenFile: string;
};

/** Where a secret lies; it is read at the start and never shown. */
export type SecretPlace = { readonly env: string } | { readonly file: string };

/** Ways for alarms that do not pass through the hub. */
export type AlarmsConfig = {
  readonly webhook?: { readonly url: SecretPlace; readonly authorization?: SecretPlace };
  readonly email?: {
    readonly host: string;
    readonly port: number;
    readonly security: 'tls' | 'starttls' | 'none';
    readonly user?: string;
    readonly password?: SecretPlace;
    readonly from: string;
    readonly to: readonly string[];
  };
  readonly heartbeat?: { readonly url: SecretPlace; readonly everyMs: DurationMs; readonly method: 'GET' | 'POST' };
  readonly hubSilentMs: DurationMs;
};

/** `slackwater.yaml` after checking: defaults filled in, units converted, secrets still only pointed at. */
export type Config = {
  readonly tank: Tank;
  readonly hub: {
    readonly url: string;
    readonly token: { readonly env: string } | { readonly file: string };
  };
  readonly storeFile: string;
  readonly api: { readonly host: string; readonly port: number };
  readonly access: readonly AccessEntry[];
  readonly reminders: { readonly nearShare: number; readonly nearMs: DurationMs; readonly laterMs: DurationMs };
  /** Rule overrides within their safe ranges, by rule id and setting name, in the unit the rule pack states. */
  readonly rules: Readonly<Record<string, Readonly<Record<string, number>>>>;
  readonly guards: readonly GuardDef[];
  readonly alarms: AlarmsConfig;
  /** Deputy per person name, for claims. */
  readonly deputies: Readonly<Record<string, string>>;
  /** Prefix of every state and helper we keep in the hub. */
  readonly prefix: string;
};
