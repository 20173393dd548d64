// The demo home in one call: hub, tank, a person at the tank, and the configuration that fits them.
import { readFileSync } from 'node:fs';
import type { System } from '../ports/index.ts';
import { type PlugFault, type SimHub, startSimHub } from './home/index.ts';
import { type Behaviour, type SimulatedPerson, simulatedPerson } from './persons.ts';
import type { PlugKey } from './tank/index.ts';

export type DemoHomeOptions = {
  readonly seed: number;
  /** Its clock should begin at `DEMO_NOW`, at whatever pace. */
  readonly system: Pick<System, 'clock' | 'timers'>;
  readonly faults?: Readonly<Partial<Record<PlugKey, PlugFault>>>;
  readonly behaviour?: Behaviour;
  readonly port?: number;
  readonly historyDays?: number;
};

export type DemoHome = {
  readonly hub: SimHub;
  /** slackwater.yaml of this tank, pointing at this hub. */
  readonly tankYaml: string;
  readonly person: SimulatedPerson;
};

const YAML_FILE = new URL('./demo-tank.yaml', import.meta.url);
const YAML_HUB = 'http://127.0.0.1:8123';

/** The demo tank's configuration for a hub at `url`. */
export function demoTankYaml(url: string): string {
  return readFileSync(YAML_FILE, 'utf8').replace(YAML_HUB, url);
}

export async function startDemoHome(options: DemoHomeOptions): Promise<DemoHome> {
  const { seed, system } = options;
  const hub = await startSimHub({
    seed,
    system,
    faults: options.faults ?? {},
    port: options.port ?? 0,
    ...(options.historyDays === undefined ? {} : { historyDays: options.historyDays }),
  });
  const person = simulatedPerson({
    hub,
    system,
    seed,
    name: 'Duty caretaker',
    behaviour: options.behaviour ?? 'helpful',
  });
  return { hub, person, tankYaml: demoTankYaml(hub.url) };
}
