// Runs fault sequences through the real hub and our service side by side and takes down what each of them says.
import { mkdir, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';
import { stringify } from 'yaml';
import { freePort } from '../support/hub-process.ts';
import { eventually, type HubState, type RealHub } from '../support/index.ts';
import {
  configOf,
  entityOf,
  FENCE,
  type HelperReading,
  helperReadings,
  ourMeasures,
  WORDS,
} from './fault-sequences-home.ts';
import { type FaultHub, faultHub, JITTER_MS, shownFor, slowRecorder, withJitter } from './fault-sequences-hub.ts';
import { keepService, type ServiceKeeper } from './fault-sequences-keeper.ts';
import type { Action, HubAction, Phase, Sequence, Step } from './fault-sequences-script.ts';
import type { Usages } from './fault-sequences-service.ts';
import { createDevice, type Device, TANK_MINUTE_MS } from './fault-sequences-world.ts';
import { type Night, writeNight } from './fault-sequences-zone.ts';

/** A sequence under way. `slackMs` adds up how long the hub may have taken to date what it was told. */
type Track = {
  readonly sequence: Sequence;
  readonly device: Device;
  entity: string;
  lost: 'unavailable' | 'unknown' | null;
  slackMs: number;
  reports: number;
};

export type Outcome = {
  readonly sequence: Sequence;
  readonly measure: string;
  /** From the script's clock; a little apart where reading took a moment while it ran on. */
  readonly truth: { readonly low: number; readonly high: number };
  /** What the latency of all reports together can have shifted the truth by, in the measure. */
  readonly slack: number;
  readonly ours: { readonly low: number; readonly best: number; readonly high: number };
  /** `parts`: what its figure is the sum of, where it is one. */
  readonly helper: { readonly name: string; readonly value: number | null; readonly parts: readonly number[] };
};

type Snapshot = {
  readonly from: number;
  readonly to: number;
  readonly usages: Usages;
  readonly states: ReadonlyMap<string, HubState>;
};

export type Rig = {
  readonly hub: FaultHub;
  readonly real: RealHub;
  readonly service: ServiceKeeper;
  readonly folder: string;
  /** By how much the hub's clock may be off, to either side. */
  jitterMs: number;
  /** The midnight that was arranged last. */
  midnightMs: number;
  readonly tracks: readonly Track[];
};

export async function createRig(real: RealHub, sequences: readonly Sequence[], folder: string): Promise<Rig> {
  await mkdir(folder, { recursive: true });
  const configFile = join(folder, 'slackwater.yaml');
  await writeFile(configFile, stringify(configOf(sequences, real.url, await freePort())));
  await writeFile(join(folder, 'hub-token'), `${real.token}\n`, { mode: 0o600 });
  const hub = await faultHub(real);
  const tracks = sequences.map(
    (sequence): Track => ({
      sequence,
      device: createDevice(sequence.kind, sequence.reading),
      entity: entityOf(sequence),
      lost: null,
      slackMs: 0,
      reports: 0,
    }),
  );
  await hub.watch(tracks.map(({ entity }) => entity));
  return { hub, real, service: keepService(configFile), folder, jitterMs: 0, midnightMs: 0, tracks };
}

const textOf = ({ device, lost }: Track): string => (lost === null ? device.says() : WORDS[lost]);

/** The device tells where it stands, or nothing where the hub cannot hear it. */
async function report(rig: Rig, track: Track, text = textOf(track)): Promise<void> {
  const { hub } = rig;
  if (!hub.up()) return;
  const sent = performance.now();
  await hub.tell(track.sequence.id, track.entity, text);
  track.slackMs += performance.now() - sent + rig.jitterMs;
  track.reports += 1;
}

async function repeat({ hub }: Rig, { entity }: Track, times: number, asNews: boolean): Promise<void> {
  const shown = hub.shown(entity);
  if (shown === undefined) return;
  const body = { state: shown.state, attributes: shown.attributes, ...(asNews ? { force_update: true } : {}) };
  for (let n = 0; n < times; n += 1) await hub.post(entity, body);
}

async function act(rig: Rig, track: Track, action: Action): Promise<void> {
  const { device } = track;
  switch (action.do) {
    case 'happens':
      device.happens(action.value, Date.now());
      return track.lost === null ? report(rig, track) : undefined;
    case 'meter shows':
      device.meterShows(action.reading);
      return track.lost === null ? report(rig, track) : undefined;
    case 'lost':
      track.lost = action.as;
      return report(rig, track);
    case 'back':
      track.lost = null;
      return report(rig, track);
    case 'says':
      return report(rig, track, action.text);
    case 'repeats':
      return repeat(rig, track, action.times, action.asNews);
    case 'posted': {
      const shown = rig.hub.shown(track.entity);
      const state = action.text ?? shown?.state;
      if (state === undefined) throw new Error(`the hub shows no ${track.entity} to write to`);
      return rig.hub.post(track.entity, { state, attributes: { ...shown?.attributes, ...action.attributes } });
    }
    case 'removed':
      return rig.hub.remove(track.entity);
    case 'renamed': {
      const entity = `${track.entity}_renamed`;
      const command = { type: 'config/entity_registry/update', entity_id: track.entity, new_entity_id: entity };
      await rig.hub.call(command);
      track.entity = entity;
      await rig.hub.watch(rig.tracks.map((one) => one.entity));
    }
  }
}

/** The hub's history of the switch that is flicked between phases; empty once all is purged. */
async function fenceRows({ hub }: Rig): Promise<number> {
  const rows = (await hub.call({
    type: 'history/history_during_period',
    start_time: new Date(Date.now() - 3_600_000).toISOString(),
    entity_ids: [`binary_sensor.${FENCE}`],
    include_start_time_state: false,
    significant_changes_only: false,
  })) as Readonly<Record<string, readonly unknown[]>>;
  return rows[`binary_sensor.${FENCE}`]?.length ?? 0;
}

let nights = 0;

/** The hub's helpers read no zone whose offset has seconds, so midnights fall on whole minutes; the script waits for one. */
async function arrangeNight(rig: Rig, action: HubAction): Promise<void> {
  const { hub, folder } = rig;
  const aheadMs = Number(/in (\d+) minutes/.exec(action)?.[1]) * TANK_MINUTE_MS;
  const midnightMs = Math.ceil((Date.now() + aheadMs) / 60_000) * 60_000;
  const twice = action.includes('twice');
  const night: Night = action.startsWith('clocks') ? 'clocks go forward' : twice ? 'clocks go back' : 'plain';
  nights += 1;
  // A zone once read stays in the hub's memory, so each night has its own.
  const name = `Tank/Night${nights}`;
  writeNight(join(folder, 'zones'), name, night, midnightMs / 1000);
  await hub.call({ type: 'config/core/update', time_zone: name });
  rig.midnightMs = midnightMs;
  await delay(Math.max(0, midnightMs - aheadMs - Date.now()));
}

async function startHub({ hub, tracks }: Rig): Promise<void> {
  await hub.start(new Map(tracks.map((track) => [track.sequence.id, textOf(track)])));
  await eventually('the devices to show as they are', () =>
    tracks.every((track) => hub.shown(track.entity)?.state === shownFor(textOf(track))),
  );
}

async function actOnHub(rig: Rig, action: HubAction): Promise<void> {
  const { hub, service } = rig;
  switch (action) {
    case 'hub stops':
      return hub.stop();
    case 'hub is killed':
      return hub.kill();
    case 'midnight has passed':
      if (Date.now() > rig.midnightMs) throw new Error('the hub took too long to stop: it saw midnight');
      return delay(rig.midnightMs + 1_000 - Date.now());
    case 'hub starts':
      rig.jitterMs = 0;
      return startHub(rig);
    case 'hub starts, its clock jitters':
      rig.jitterMs = JITTER_MS;
      return withJitter(join(rig.folder, 'jitter'), () => startHub(rig));
    case 'recorder is set to write every five seconds':
      return slowRecorder(rig.real.dir);
    case 'hub purges all': {
      const data = { keep_days: 0, repack: false };
      await hub.call({ type: 'call_service', domain: 'recorder', service: 'purge', service_data: data });
      await eventually('the history to be purged', async () => (await fenceRows(rig)) <= 1);
      return;
    }
    case 'service stops':
      return service.stop();
    case 'service is killed':
      return service.kill();
    case 'service starts':
      return service.start();
    default:
      return arrangeNight(rig, action);
  }
}

const startsOf = (usages: Usages): number => usages[FENCE]?.['starts']?.low ?? 0;
const fenceCount = async ({ hub }: Rig): Promise<number> =>
  Number((await hub.states()).get(`sensor.${FENCE}_count`)?.state);

/** Flicks a switch until both sides have counted it: then both have taken everything that came before it. */
async function fence(rig: Rig): Promise<void> {
  const { hub, service } = rig;
  const ours = startsOf(await service.usages());
  const theirs = await fenceCount(rig);
  await eventually(
    'the service and the hub to have counted a flick of the switch',
    async () => {
      await hub.tell(FENCE, `binary_sensor.${FENCE}`, 'on');
      await hub.tell(FENCE, `binary_sensor.${FENCE}`, 'off');
      return startsOf(await service.usages()) > ours && (await fenceCount(rig)) !== theirs;
    },
    { everyMs: 250, limitMs: 60_000 },
  );
}

async function snapshot(rig: Rig): Promise<Snapshot> {
  await fence(rig);
  const helpers = rig.tracks.flatMap(({ sequence }) => helperReadings(sequence)).map(({ entity }) => entity);
  const stats = helpers.filter((entity) => /_(time|count)$/.test(entity));
  const data = { entity_id: stats };
  await rig.hub.call({
    type: 'call_service',
    domain: 'homeassistant',
    service: 'update_entity',
    service_data: data,
  });
  const from = Date.now();
  const usages = await rig.service.usages();
  const to = Date.now();
  return { from, to, usages, states: await rig.hub.states() };
}

function helperParts(reading: HelperReading, { states }: Snapshot): readonly number[] {
  const state = states.get(reading.entity);
  const texts = [state?.state, ...(reading.plus === undefined ? [] : [state?.attributes[reading.plus]])];
  return texts.map((text) => Number(text) * reading.factor);
}

/** Null where it shows no number. */
function helperValue(reading: HelperReading, at: Snapshot): number | null {
  const sum = helperParts(reading, at).reduce((total, part) => total + part, 0);
  return Number.isFinite(sum) ? sum : null;
}

/** What a minute of latency can shift: a minute, or the watt-hours of one. */
const weightOf = ({ sequence, device }: Track): number => (sequence.kind === 'energy' ? device.peakWatts() / 60 : 1);

function outcomesOf(track: Track, before: Snapshot, after: Snapshot): readonly Outcome[] {
  const { sequence, device, slackMs, reports } = track;
  return helperReadings(sequence).map((reading): Outcome => {
    const { measure } = reading;
    const our = ourMeasures(sequence.kind)[measure];
    if (our === undefined) throw new Error(`no measure of ours for ${measure}`);
    const amount = (from: Snapshot) => from.usages[sequence.id]?.[our.measure] ?? { low: 0, best: 0, high: 0 };
    const grown = (bound: 'low' | 'best' | 'high'): number =>
      (amount(after)[bound] - amount(before)[bound]) * our.factor;
    const truths = [device.truth(before.to, after.from), device.truth(before.from, after.to)];
    const values = truths.map((truth) => truth[measure] ?? Number.NaN);
    const shown = helperValue(reading, after);
    const isTime = measure === 'minutes' || measure === 'wattHours';
    // Each report is dated by the hub between its sending and its arrival, and cut to whole milliseconds.
    const slackMinutes = (slackMs + reports) / TANK_MINUTE_MS;
    return {
      sequence,
      measure,
      truth: { low: Math.min(...values), high: Math.max(...values) },
      slack: isTime ? slackMinutes * weightOf(track) : 0,
      ours: { low: grown('low'), best: grown('best'), high: grown('high') },
      helper: {
        name: reading.helper,
        value: shown === null ? null : shown - (helperValue(reading, before) ?? 0),
        parts: reading.plus === undefined ? [] : helperParts(reading, after),
      },
    };
  });
}

/** Everything of one minute: first what happens to hub and service, then to the devices, these side by side. */
type Minute = { readonly minute: number; readonly hub: HubAction[]; readonly devices: [Track, readonly Action[]][] };

function minutesOf(phase: Phase, tracks: readonly Track[]): readonly Minute[] {
  const minutes = new Map<number, Minute>();
  const at = (minute: number): Minute => {
    const found = minutes.get(minute) ?? { minute, hub: [], devices: [] };
    minutes.set(minute, found);
    return found;
  };
  for (const [minute, ...actions] of phase.hub) at(minute).hub.push(...actions);
  for (const track of tracks) {
    const steps: readonly Step<Action>[] = track.sequence.script;
    for (const [minute, ...actions] of steps) at(minute).devices.push([track, actions]);
  }
  at(phase.minutes);
  return [...minutes.values()].sort((a, b) => a.minute - b.minute);
}

export async function runPhase(rig: Rig, phase: Phase): Promise<readonly Outcome[]> {
  const tracks = rig.tracks.filter(({ sequence }) => sequence.phase === phase.id);
  // Where the phase before broke off, this one still begins with both of them up.
  if (!rig.hub.up()) await actOnHub(rig, 'hub starts');
  if (!rig.service.running()) await actOnHub(rig, 'service starts');
  const before = await snapshot(rig);
  let clockMs = performance.now();
  let at = 0;
  for (const { minute, hub, devices } of minutesOf(phase, tracks)) {
    clockMs += (minute - at) * TANK_MINUTE_MS;
    at = minute;
    await delay(Math.max(0, clockMs - performance.now()));
    for (const action of hub) {
      await actOnHub(rig, action);
      clockMs = performance.now();
    }
    await Promise.all(
      devices.map(async ([track, actions]) => {
        for (const action of actions) await act(rig, track, action);
      }),
    );
  }
  const after = await snapshot(rig);
  return tracks.flatMap((track) => outcomesOf(track, before, after));
}
