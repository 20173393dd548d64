import { mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { parseDocument } from 'yaml';
import type { PartUsage, SessionView } from '../app/index.ts';
import { loadConfig } from '../config/index.ts';
import { realSystem, scaledSystem } from '../io/system/index.ts';
import type { Log, System } from '../ports/index.ts';
import type { Standing } from '../remind/index.ts';
import { type Behaviour, DEMO_NOW, type DemoHome, type PlugFault, type PlugKey, startDemoHome } from '../sim/index.ts';
import { SECOND_MS } from '../units/index.ts';
import { type RunningService, runService } from './run-service.ts';

export type DemoOptions = {
  readonly seed: number;
  /** How many times faster than real time the simulated home and the service run. */
  readonly pace: number;
  readonly faults: Readonly<Partial<Record<PlugKey, PlugFault>>>;
  /** Overrides of limits: part id, measure, text as in the configuration. */
  readonly limits: readonly { readonly part: string; readonly measure: string; readonly text: string }[];
  readonly behaviour: Behaviour;
  /** Port of the interface; 0 = any free one. */
  readonly port: number;
  /** Where the demo keeps its files; absent = a folder that goes away with it. */
  readonly folder?: string;
  readonly log: Log;
  readonly onProgress?: (share: number) => void;
  /** Days of the tank's past in the simulated hub; eighteen months otherwise. */
  readonly historyDays?: number;
  /** Ends the demo before it is up; its reason is thrown. */
  readonly signal?: AbortSignal;
};

/** Each look at an open session is put on disk; oftener than this the disk would set the pace. */
const TICK_REAL_MS = 50;

export type RunningDemo = {
  readonly home: DemoHome;
  readonly service: RunningService;
  readonly system: System;
  readonly configFile: string;
  readonly timeZone: string;
  stop(): Promise<void>;
};

/** The whole service on the simulated home: real sockets, real store, accelerated clock. */
export async function startDemo(options: DemoOptions): Promise<RunningDemo> {
  const real = realSystem();
  const system: System = { ...scaledSystem(real, options.pace, DEMO_NOW), log: options.log };
  const isKept = options.folder !== undefined;
  const folder = isKept ? resolve(options.folder ?? '') : await mkdtemp(join(tmpdir(), 'slackwater-demo-'));
  // The simulated tank's past belongs to this run's seed, so nothing of an earlier one may be counted with it.
  if (isKept) await rm(folder, { recursive: true, force: true });
  await mkdir(folder, { recursive: true });
  const home = await startDemoHome({
    seed: options.seed,
    system,
    faults: options.faults,
    behaviour: options.behaviour,
    ...(options.historyDays === undefined ? {} : { historyDays: options.historyDays }),
  });
  const configFile = join(folder, 'slackwater.yaml');
  const text = fitted(home, options);
  await writeFile(configFile, text);
  try {
    const { config } = loadConfig(text, configFile);
    const service = await runService({
      config: { ...config, api: { ...config.api, port: options.port } },
      hubToken: home.hub.token,
      system,
      simulated: true,
      tickMs: Math.max(SECOND_MS, TICK_REAL_MS * options.pace),
      hub: { linkTimers: real.timers, linkClock: real.clock, settleMs: 0 },
      ...(options.onProgress === undefined ? {} : { onProgress: options.onProgress }),
      ...(options.signal === undefined ? {} : { signal: options.signal }),
    });
    const stop = async (): Promise<void> => {
      home.person.leave();
      await service.stop();
      await home.hub.close();
      if (!isKept) await rm(folder, { recursive: true, force: true });
    };
    return { home, service, system, configFile, timeZone: config.tank.timeZone, stop };
  } catch (error) {
    home.person.leave();
    await home.hub.close();
    if (!isKept) await rm(folder, { recursive: true, force: true });
    throw error;
  }
}

/** The demo tank's own configuration, with this run's limits and the people of the simulated hub. */
function fitted(home: DemoHome, { limits, port }: DemoOptions): string {
  const document = parseDocument(home.tankYaml);
  for (const { part, measure, text } of limits) document.setIn(['parts', part, 'limits', measure], text);
  if (port !== 0) document.setIn(['api', 'port'], port);
  return document.toString();
}

export type DemoResult = {
  readonly usage: readonly PartUsage[];
  readonly due: readonly Standing[];
  readonly session: {
    readonly procedure: string;
    readonly startedBy: string;
    /** Who did what was asked of a person; named as simulated. */
    readonly person: string;
    readonly steps: readonly Pick<
      SessionView['steps'][number],
      'id' | 'action' | 'rule' | 'needed' | 'evidence' | 'result' | 'evidenceText'
    >[];
    readonly result: SessionView['status'];
    readonly held: string | null;
    readonly summary: string;
  };
};

/** A press of the start button in the hub by the simulated person; resolves when the session is over or held for good. */
export async function demoSession(
  demo: RunningDemo,
  procedure: string,
  onView: (view: SessionView) => void,
): Promise<SessionView> {
  const { app } = demo.service;
  const ended = new Promise<SessionView>((resolveView) => {
    const stop = app.subscribe((event) => {
      if (event.kind !== 'session') return;
      onView(event.view);
      const { status, hold } = event.view;
      const isOver = status === 'complete' || status === 'stopped' || status === 'aborted';
      // The person of the demo answers what is asked of a person; every other hold is where the demo ends.
      const isStuck = status === 'held' && hold !== null && hold.reason !== 'person-needed';
      if (!isOver && !isStuck) return;
      stop();
      resolveView(event.view);
    });
  });
  const { hub, person } = demo.home;
  hub.call(
    'input_button.press',
    `input_button.slackwater_start_${procedure.replaceAll('-', '_')}`,
    person.person.userId,
  );
  return ended;
}

export function demoResult(
  usage: readonly PartUsage[],
  standings: readonly Standing[],
  view: SessionView,
  person: string,
): DemoResult {
  return {
    usage,
    due: standings.filter((one) => one.word !== 'fine'),
    session: {
      procedure: view.procedure,
      startedBy: view.startedBy,
      person,
      steps: view.steps.map(({ id, action, rule, needed, evidence, result, evidenceText }) => ({
        id,
        action,
        rule,
        needed,
        evidence,
        result,
        evidenceText,
      })),
      result: view.status,
      held: view.hold?.text ?? null,
      summary: view.summary,
    },
  };
}
