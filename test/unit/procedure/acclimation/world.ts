// One lamp with its plug and its automation in a hub, in virtual time, and the programme on it. The plug and the automation
// are written here anew: they know nothing of what is tested.
import {
  type AcclimationContext,
  type AcclimationEffect,
  type AcclimationInput,
  type AcclimationState,
  acclimationStep,
  NO_PROGRAMMES,
  type Programme,
  restoredProgrammes,
} from '../../../../src/procedure/acclimation/index.ts';

export const SECOND = 1_000;
export const MINUTE = 60 * SECOND;
export const HOUR = 60 * MINUTE;
export const DAY = 24 * HOUR;
export const ZONE = 'UTC';
/** Midnight. */
export const T0 = Date.UTC(2026, 5, 1);
export const LAMP = 'lamp';
export const SWITCH = 'switch.lamp';
export const DRIVER = 'automation.lamp';
/** 12:00 to 21:00. */
export const HOURS = { onMinute: 720, litMs: 9 * HOUR, from: 'said' } as const;

export const CTX: AcclimationContext = {
  zone: ZONE,
  lamps: { [LAMP]: { id: LAMP, name: 'Lamp', switchEntity: SWITCH, driverEntity: DRIVER, switchDelayMs: 5 * SECOND } },
  startShare: 0.6,
  rampMs: 8 * DAY,
  freshMs: 120 * SECOND,
  verifyMs: 30 * SECOND,
  askMs: 20 * SECOND,
  askSlowMs: 10 * MINUTE,
  unknownMs: 10 * MINUTE,
  leastMs: 10 * MINUTE,
};

export type Sent = { readonly at: number; readonly effect: AcclimationEffect; readonly state: AcclimationState };

export type World = ReturnType<typeof createWorld>;

export function createWorld(ctx: AcclimationContext = CTX, startAt = T0, stepMs = MINUTE) {
  let state: AcclimationState = { ...NO_PROGRAMMES, at: startAt };
  const kept = new Map<string, string>();
  const sent: Sent[] = [];
  const inputs: AcclimationInput[] = [];
  const w = {
    at: startAt,
    relay: 0 as 0 | 1,
    driverOn: true,
    hubUp: true,
    serviceUp: true,
    /** The plug neither hears nor reports. */
    deaf: false,
    /** It hears, reports, and does not switch. */
    stuck: false,
    driverDeaf: false,
    held: {} as Record<string, string>,
    usual: { onMs: 12 * HOUR, offMs: 21 * HOUR },
    sent,
    inputs,
    kept,
    /** Lit time by the light date it began on, as the plug had it. */
    lit: new Map<number, number>(),
    state: () => state,
    programme: (): Programme | undefined => state.programmes[LAMP],
    says: () => sent.flatMap(({ effect }) => (effect.kind === 'say' ? [effect.text] : [])),
    alarms: () => sent.flatMap(({ effect }) => (effect.kind === 'alarm' ? [effect.text] : [])),
    commands: () =>
      sent.flatMap(({ at, effect }) =>
        effect.kind === 'switch' || effect.kind === 'driver' ? [{ at, kind: effect.kind, turn: effect.turn }] : [],
      ),
    give(input: AcclimationInput): void {
      if (!w.serviceUp) return;
      inputs.push(input);
      const [next, effects] = acclimationStep(state, input, ctx);
      state = next;
      for (const effect of effects) {
        sent.push({ at: w.at, effect, state });
        perform(effect);
      }
    },
    readings(): void {
      if (!w.hubUp) return;
      const read = (entity: string, value: number | null) => ({ entity, value, changedAt: w.at, reportedAt: w.at });
      const plug = w.deaf ? [] : [read(SWITCH, w.relay)];
      w.give({ kind: 'readings', at: w.at, readings: [...plug, read(DRIVER, w.driverOn ? 1 : 0)] });
    },
    link(up: boolean): void {
      w.hubUp = up;
      w.give({ kind: 'hub', at: w.at, up });
      if (up) w.readings();
    },
    hold(by: string | null): void {
      w.held = by === null ? {} : { [LAMP]: by };
      w.give({ kind: 'held', at: w.at, held: w.held });
    },
    start: (): void => w.give({ kind: 'start', at: w.at, lamp: LAMP, by: 'Ada', hours: HOURS }),
    stop: (): void => w.give({ kind: 'stop', at: w.at, lamp: LAMP, by: 'Ada' }),
    kill(): void {
      w.serviceUp = false;
    },
    /** All it has is what was kept. */
    revive(): void {
      w.serviceUp = true;
      state = restoredProgrammes(
        [...kept.values()].map((text) => JSON.parse(text) as Programme),
        w.at,
      );
      inputs.length = 0;
      w.give({ kind: 'held', at: w.at, held: w.held });
      if (w.hubUp) w.link(true);
    },
    step(ms = stepMs): void {
      const before = w.at;
      w.at += ms;
      if (w.relay === 1) {
        const date = Math.floor((w.at - 4.5 * HOUR) / DAY);
        w.lit.set(date, (w.lit.get(date) ?? 0) + ms);
      }
      if (w.hubUp && w.driverOn && !w.deaf) {
        const passed = (ofDay: number): boolean => (before - T0) % DAY < ofDay && ((before - T0) % DAY) + ms >= ofDay;
        if (passed(w.usual.onMs)) w.relay = 1;
        if (passed(w.usual.offMs)) w.relay = 0;
      }
      w.readings();
      w.give({ kind: 'tick', at: w.at });
    },
    until(at: number): void {
      while (w.at < at) w.step(Math.min(stepMs, at - w.at));
    },
  };
  const perform = (effect: AcclimationEffect): void => {
    if (effect.kind === 'keep') kept.set(effect.programme.lamp, JSON.stringify(effect.programme));
    else if (effect.kind === 'switch' && w.hubUp && !w.deaf && !w.stuck) w.relay = effect.turn === 'on' ? 1 : 0;
    else if (effect.kind === 'driver' && w.hubUp && !w.driverDeaf) w.driverOn = effect.turn === 'resume';
  };
  w.give({ kind: 'hub', at: startAt, up: true });
  w.readings();
  return w;
}

export const dayAt = (day: number, hour: number): number => T0 + day * DAY + hour * HOUR;
