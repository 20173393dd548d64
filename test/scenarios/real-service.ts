// The service as the scenarios on the real hub run it, in this process or in one of its own that may be killed.
import { readFile } from 'node:fs/promises';
import { type RunningService, runService } from '../../src/cli/run-service.ts';
import { loadConfig } from '../../src/config/index.ts';
import { realSystem } from '../../src/io/system/index.ts';

export type Pace = {
  /** The engine's waits, time-outs and freshness limits run this many times faster. A person's two seconds do not. */
  readonly timeFactor: number;
  /** How often an open session looks at its readings. */
  readonly tickMs: number;
};

/** A freshness limit of 300 s becomes 10 s. */
export const FAST: Pace = { timeFactor: 30, tickMs: 100 };

/** As at a keeper's home. */
export const IN_SERVICE: Pace = { timeFactor: 1, tickMs: 1_000 };

const HUB_OPTIONS = { settleMs: 300, retryMs: 100, retryMaxMs: 500, recorderMs: 10_000 };

/** Starts it on a configuration file. `settled` resolves when the past has been read. */
export async function startRealService(options: {
  readonly configFile: string;
  readonly hubToken: string;
  readonly write: (line: string) => void;
  readonly pace?: Pace;
}): Promise<RunningService> {
  const { configFile, hubToken, write, pace = FAST } = options;
  return runService({
    config: loadConfig(await readFile(configFile, 'utf8'), configFile).config,
    hubToken,
    system: realSystem({ write, secrets: [hubToken] }),
    simulated: false,
    ...pace,
    hub: HUB_OPTIONS,
  });
}
