// One smart plug: relay, meter, reports, and what it can do wrong. It reports into the hub like a real one: late, rounded,
// with a meter error of its own, and now and then not at all.
import type { System } from '../../ports/index.ts';
import type { DurationMs, InstantMs, PowerW } from '../../units/index.ts';
import { type Attributes, type HubContext, type HubCore, HubRefusal } from '../hub/index.ts';
import { type Prng, prng, seedFor } from '../random.ts';
import { PLUGS, type PlugKey, powerOf, switchOf } from '../tank/index.ts';
import { LATE_REPORT_MS, type PlugFault, REVIVE_AFTER_MS } from './faults.ts';

export type PlugTruth = {
  readonly relayClosed: boolean;
  readonly pluggedIn: boolean;
  readonly fault: PlugFault;
};

export type Plug = {
  readonly key: PlugKey;
  truth(): PlugTruth;
  /** The device gets mains now. */
  powered(): boolean;
  command(on: boolean, context: HubContext): void;
  /** The device's own cord; the plug itself stays powered and goes on reporting. */
  setPluggedIn(pluggedIn: boolean): void;
  setFault(fault: PlugFault): void;
  /** Called with the mean draw of the device as the simulation moves on. */
  see(meanPowerW: PowerW): void;
  /** A forced report of relay and meter. */
  refresh(context: HubContext): void;
  /** Tells the hub everything anew, after the hub was away. */
  announce(): void;
};

const REPORT_EVERY_MS: DurationMs = 60_000;
const REPORT_JITTER_MS: DurationMs = 4_000;
const REPORT_CHANGE_W: PowerW = 1;
/** Changes are not reported more often than this. */
const REPORT_SPACING_MS: DurationMs = 5_000;
const REPORT_LOST_SHARE = 0.003;
const EDGE_REPORT_MS: DurationMs = 1_200;

type Inside = {
  readonly key: PlugKey;
  readonly core: HubCore;
  readonly random: Prng;
  /** Meter error as a share, and what it shows with nothing flowing. */
  readonly gain: number;
  readonly openW: PowerW;
  readonly relayAttributes: Attributes;
  readonly wattAttributes: Attributes;
  relayClosed: boolean;
  pluggedIn: boolean;
  fault: PlugFault;
  meanPowerW: PowerW;
  shownW: PowerW;
  reportedAt: InstantMs;
  nextReportAt: InstantMs;
  edgeReportAt: InstantMs | null;
  cancelRevival: () => void;
};

export type PlugOptions = {
  readonly key: PlugKey;
  readonly core: HubCore;
  readonly seed: number;
  readonly closed: boolean;
  readonly fault: PlugFault;
  readonly onEdge: (key: PlugKey, powered: boolean, at: InstantMs) => void;
};

export function createPlug({ key, core, seed, closed, fault, onEdge }: PlugOptions): Plug {
  const inside = plugInside({ key, core, seed, closed, fault });
  const { random } = inside;
  const { clock, timers } = core.system;
  const powered = (): boolean => inside.relayClosed && inside.pluggedIn;
  const change = (apply: () => void): void => {
    const before = powered();
    apply();
    if (!powered()) inside.meanPowerW = 0;
    if (powered() !== before) onEdge(key, powered(), clock.now());
    inside.edgeReportAt = clock.now() + EDGE_REPORT_MS;
  };
  return {
    key,
    powered,
    truth: () => ({ relayClosed: inside.relayClosed, pluggedIn: inside.pluggedIn, fault: inside.fault }),
    command(on, context) {
      if (inside.fault === 'refuses') {
        throw new HubRefusal('home_assistant_error', `Failed to send request: ${PLUGS[key].name} did not respond`);
      }
      inside.cancelRevival();
      timers.after(random.between(150, 450), `plug ${key} switches`, () => {
        const welded = inside.fault === 'echo-off-keeps-watts' && !on;
        if (!welded) {
          change(() => {
            inside.relayClosed = on;
          });
        }
        reportRelay(inside, on, context);
        if (inside.fault === 'revives' && !on) scheduleRevival(inside, system(core), change);
      });
    },
    setPluggedIn: (pluggedIn) =>
      change(() => {
        inside.pluggedIn = pluggedIn;
      }),
    setFault(next) {
      inside.fault = next;
    },
    see(meanPowerW) {
      inside.meanPowerW = powered() ? meanPowerW : 0;
      reportPowerIfDue(inside);
    },
    refresh(context) {
      if (inside.fault === 'lost-reports') return;
      if (inside.fault !== 'echo-off-keeps-watts') writeRelay(inside, inside.relayClosed, context);
      else {
        const relay = core.registry.nameOf(switchOf(key));
        core.states.set(relay, core.states.get(relay)?.state ?? 'on', undefined, context);
      }
      writePower(inside, context);
    },
    announce() {
      writeRelay(inside, inside.relayClosed);
      writePower(inside);
    },
  };
}

function plugInside({ key, core, seed, closed, fault }: Omit<PlugOptions, 'onEdge'>): Inside {
  const random = prng(seedFor(seed, `plug ${key}`));
  return {
    key,
    core,
    random,
    gain: meterGain(seed, key),
    openW: random.between(0, 0.6),
    relayAttributes: switchAttributes(key),
    wattAttributes: powerAttributes(key),
    relayClosed: closed,
    pluggedIn: true,
    fault,
    meanPowerW: 0,
    shownW: 0,
    reportedAt: 0,
    nextReportAt: 0,
    edgeReportAt: null,
    cancelRevival: () => {},
  };
}

/** Share by which this plug's meter reads wrong: between -2 and +1 %. */
export function meterGain(seed: number, key: PlugKey): number {
  return 1 + prng(seedFor(seed, `meter ${key}`)).between(-0.02, 0.01);
}

const system = (core: HubCore): Pick<System, 'clock' | 'timers'> => core.system;

function scheduleRevival(
  inside: Inside,
  { timers }: Pick<System, 'timers'>,
  change: (apply: () => void) => void,
): void {
  inside.cancelRevival = timers.after(REVIVE_AFTER_MS, `plug ${inside.key} revives`, () => {
    change(() => {
      inside.relayClosed = true;
    });
    writeRelay(inside, true);
  });
}

function reportRelay(inside: Inside, on: boolean, context: HubContext): void {
  if (inside.fault === 'lost-reports') return;
  if (inside.fault !== 'late') {
    writeRelay(inside, on, context);
    return;
  }
  inside.core.system.timers.after(LATE_REPORT_MS, `plug ${inside.key} reports late`, () =>
    writeRelay(inside, on, context),
  );
}

function reportPowerIfDue(inside: Inside): void {
  const now = inside.core.system.clock.now();
  const edgeDue = inside.edgeReportAt !== null && now >= inside.edgeReportAt;
  const moved =
    Math.abs(readingW(inside) - inside.shownW) >= REPORT_CHANGE_W && now - inside.reportedAt >= REPORT_SPACING_MS;
  if (!edgeDue && !moved && now < inside.nextReportAt) return;
  inside.edgeReportAt = null;
  inside.reportedAt = now;
  inside.nextReportAt = now + REPORT_EVERY_MS + inside.random.between(0, REPORT_JITTER_MS);
  if (inside.fault === 'lost-reports' || inside.random.next() < REPORT_LOST_SHARE) return;
  if (inside.fault !== 'late') {
    writePower(inside);
    return;
  }
  const watts = readingW(inside);
  inside.core.system.timers.after(LATE_REPORT_MS, `plug ${inside.key} meters late`, () => writeWatts(inside, watts));
}

function readingW(inside: Inside): PowerW {
  const watts = inside.meanPowerW > 0 ? inside.meanPowerW * inside.gain : inside.openW;
  return Math.round(watts * 10) / 10;
}

function writePower(inside: Inside, context?: HubContext): void {
  writeWatts(inside, readingW(inside), context);
}

function writeWatts(inside: Inside, watts: PowerW, context?: HubContext): void {
  if (!isReachable(inside.core)) return;
  inside.shownW = watts;
  const { registry, states } = inside.core;
  states.set(registry.nameOf(powerOf(inside.key)), watts.toFixed(1), inside.wattAttributes, context);
}

function writeRelay(inside: Inside, on: boolean, context?: HubContext): void {
  if (!isReachable(inside.core)) return;
  const { registry, states } = inside.core;
  states.set(registry.nameOf(switchOf(inside.key)), on ? 'on' : 'off', inside.relayAttributes, context);
}

/** What a plug says while the hub is down or still starting is heard by nobody. */
const isReachable = (core: HubCore): boolean => core.phase === 'RUNNING';

export const switchAttributes = (key: PlugKey): Attributes => ({
  device_class: 'outlet',
  friendly_name: `${PLUGS[key].name} (${PLUGS[key].code})`,
});

export const powerAttributes = (key: PlugKey): Attributes => ({
  state_class: 'measurement',
  unit_of_measurement: 'W',
  device_class: 'power',
  friendly_name: `${PLUGS[key].name} power`,
});
