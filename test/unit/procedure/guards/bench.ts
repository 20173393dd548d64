// A tank and a hand that moves its guards along, for the tests beside it.
import type { Actor, Equipment, GuardDef, Sensor, Tank } from '../../../../src/model/index.ts';
import {
  type GuardContext,
  type GuardEffect,
  type GuardInput,
  type GuardState,
  guardContext,
  guardStep,
  NO_GUARDS,
} from '../../../../src/procedure/guards/index.ts';

export const T0 = Date.UTC(2026, 0, 10, 8);
export const robin: Actor = { kind: 'person', name: 'Robin', via: 'api' };

const plug = (id: string, role: Equipment['role'], normalPowerW: number, more: Partial<Equipment> = {}): Equipment => ({
  id,
  name: id,
  role,
  driver: { kind: 'always-on' },
  switchEntity: `switch.${id}`,
  powerEntity: `sensor.${id}_power`,
  normalPowerW,
  cycling: false,
  inSump: false,
  switchDelayMs: 5_000,
  ...more,
});

const sensor = (id: string, kind: Sensor['kind'], maxAgeMs = 120_000): Sensor => ({
  id,
  name: id,
  kind,
  entity: `sensor.${id}`,
  maxAgeMs,
});

export const TANK: Tank = {
  name: 'Test reef',
  timeZone: 'UTC',
  volumeL: 458,
  equipment: [
    plug('return', 'return-pump', 48),
    plug('circulation', 'circulation-pump', 22),
    plug('skimmer', 'skimmer', 26),
    plug('heater', 'heater', 198, { driver: { kind: 'thermostat', entity: 'climate.tank' }, cycling: true }),
    plug('top-off', 'top-off', 9, { driver: { kind: 'own-controller' }, cycling: true }),
    plug('doser', 'dosing-pump', 7, { driver: { kind: 'own-controller' } }),
    plug('ro', 'ro-unit', 46, { driver: { kind: 'schedule', entity: 'automation.ro' }, cycling: true }),
    plug('mixing', 'mixing-pump', 35, { driver: { kind: 'schedule', entity: 'automation.mix' } }),
    plug('barrel-heater', 'mixing-heater', 300, {
      driver: { kind: 'schedule', entity: 'automation.mix' },
      cycling: true,
    }),
  ],
  sensors: [
    sensor('high', 'high-float', 86_400_000),
    sensor('leak', 'leak', 86_400_000),
    sensor('level', 'sump-level'),
    sensor('temperature', 'sump-temperature'),
    sensor('product', 'product-litres', 3_600_000),
    sensor('barrel-low', 'store-low-float', 86_400_000),
  ],
  parts: [],
  counters: [],
  people: [{ name: 'Robin' }],
  notifyServices: [],
};

export const guard = (kind: GuardDef['kind'], off: readonly string[], more: Partial<GuardDef> = {}): GuardDef => ({
  id: kind,
  name: `Guard ${kind}`,
  kind,
  off,
  sensors: [],
  ...more,
});

export type Hand = {
  readonly ctx: GuardContext;
  state: GuardState;
  at: number;
  readonly effects: GuardEffect[];
  step(input: GuardInput): readonly GuardEffect[];
  /** Time goes on in steps of a second, as in the service. */
  wait(ms: number): void;
  tell(values: Readonly<Record<string, number | null>>): readonly GuardEffect[];
  on(id: string, watts: number | null): void;
  off(id: string, watts?: number | null): void;
  alarms(): readonly string[];
  offs(): readonly string[];
};

export function hand(guards: readonly GuardDef[], tank: Tank = TANK): Hand {
  const ctx = guardContext(tank, guards);
  const effects: GuardEffect[] = [];
  const self: Hand = {
    ctx,
    state: { ...NO_GUARDS, at: T0, hubUp: true },
    at: T0,
    effects,
    step: (input) => {
      const [next, made] = guardStep(self.state, input, ctx);
      self.state = next;
      effects.push(...made);
      return made;
    },
    wait: (ms) => {
      for (let left = ms; left > 0; left -= 1_000) {
        self.at += Math.min(1_000, left);
        self.step({ kind: 'tick', at: self.at });
      }
    },
    tell: (values) => {
      self.at += 100;
      return self.step({
        kind: 'readings',
        at: self.at,
        readings: Object.entries(values).map(([entity, value]) => ({
          entity,
          value,
          changedAt: self.at,
          reportedAt: self.at,
        })),
      });
    },
    on: (id, watts) => void self.tell({ [`switch.${id}`]: 1, [`sensor.${id}_power`]: watts }),
    off: (id, watts = 0.2) => void self.tell({ [`switch.${id}`]: 0, [`sensor.${id}_power`]: watts }),
    alarms: () => effects.flatMap((effect) => (effect.kind === 'alarm' ? [effect.text] : [])),
    offs: () => effects.flatMap((effect) => (effect.kind === 'off' ? [effect.equipment] : [])),
  };
  return self;
}

export const SECOND = 1_000;
export const MINUTE = 60_000;
export const HOUR = 3_600_000;
