// A full pass of the detectors over the demo tank's eighteen months, as the hub kept them: how fast, with how much memory.
// `node test/bench/condition.ts [--json] [--days 547]`.
import { pathToFileURL } from 'node:url';
import { conditionEntities, conditionSetup, createMonitor } from '../../src/condition/index.ts';
import { loadConfig } from '../../src/config/index.ts';
import { initialMinutes, type MinuteState, type Observation, takeMinutes } from '../../src/observe/index.ts';
import { DEMO_DAY, DEMO_NOW, demoTankYaml, pastOf } from '../../src/sim/index.ts';
import { DAY_MS } from '../../src/units/index.ts';

export type ConditionBench = {
  readonly days: number;
  readonly plugMinutes: number;
  readonly observations: number;
  /** Of a processor, whatever else the machine does. */
  readonly cpuSeconds: number;
  readonly wallSeconds: number;
  readonly plugMinutesPerS: number;
  readonly daysPerS: number;
  /** Of what is remembered, as JSON. */
  readonly memoryKb: number;
  /** How much more the heap held at the end, after the collector ran where it can be asked to. */
  readonly heapGrowthMb: number;
  readonly findings: string;
};

const SEED = 1;

export function benchCondition(days: number = DEMO_DAY): ConditionBench {
  const { tank } = loadConfig(demoTankYaml('http://127.0.0.1:8123'), 'demo-tank.yaml').config;
  const setup = conditionSetup(tank);
  const { power, other } = conditionEntities(setup);
  const past = pastOf(SEED, DEMO_NOW, days);
  const rows = [...power, ...other].map((entity) => ({ entity, rows: past.rows(entity), next: 0 }));
  const states = new Map<string, MinuteState>();
  const monitor = createMonitor(setup);
  globalThis.gc?.();
  const heapBefore = process.memoryUsage().heapUsed;
  let [detectorMs, wallMs, plugMinutes, seen] = [0, 0, 0, 0];
  const first = DEMO_NOW - days * DAY_MS;
  for (let until = first - (first % DAY_MS) + DAY_MS; until <= DEMO_NOW; until += DAY_MS) {
    const day = new Map<string, Pick<Observation, 'entity' | 'at' | 'value'>[]>();
    for (const one of rows) {
      const own: Pick<Observation, 'entity' | 'at' | 'value'>[] = [];
      while (one.rows !== undefined && one.next < one.rows.count && one.rows.updatedAt(one.next) < until) {
        own.push({ entity: one.entity, at: one.rows.updatedAt(one.next), value: numberOf(one.rows.state(one.next)) });
        one.next += 1;
      }
      day.set(one.entity, own);
    }
    const minutes = power.map((entity) => {
      const state = states.get(entity) ?? initialMinutes;
      const own = day.get(entity) ?? [];
      const taken = takeMinutes(state, [...own, { at: until, value: own.at(-1)?.value ?? state.watts }]);
      states.set(entity, taken.state);
      return { entity, minutes: taken.minutes };
    });
    const observations = other.flatMap((entity) => day.get(entity) ?? []).sort((a, b) => a.at - b.at);
    plugMinutes += minutes.reduce((sum, one) => sum + one.minutes.length, 0);
    seen += observations.length;
    const [startedAt, used] = [performance.now(), process.cpuUsage()];
    monitor.take({ minutes, observations, until });
    const { user, system } = process.cpuUsage(used);
    detectorMs += (user + system) / 1000;
    wallMs += performance.now() - startedAt;
  }
  globalThis.gc?.();
  const heapGrowthMb = (process.memoryUsage().heapUsed - heapBefore) / 1e6;
  const findings = monitor.findings().map(({ kind, equipment, sure }) => `${kind} ${equipment ?? ''} ${sure}`);
  return {
    ...{
      days,
      plugMinutes,
      observations: seen,
      cpuSeconds: detectorMs / 1000,
      wallSeconds: wallMs / 1000,
      heapGrowthMb,
    },
    plugMinutesPerS: Math.round((plugMinutes / detectorMs) * 1000),
    daysPerS: Math.round((days / detectorMs) * 1000),
    memoryKb: Math.round(JSON.stringify(monitor.memory).length / 1000),
    findings: findings.join('; '),
  };
}

function numberOf(state: string): number | null {
  if (state === 'on') return 1;
  if (state === 'off') return 0;
  const value = Number(state);
  return Number.isFinite(value) ? value : null;
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  const at = process.argv.indexOf('--days');
  const result = benchCondition(at === -1 ? DEMO_DAY : Number(process.argv[at + 1]));
  if (process.argv.includes('--json')) process.stdout.write(`${JSON.stringify(result)}\n`);
  else for (const [name, value] of Object.entries(result)) process.stdout.write(`${name.padEnd(20)} ${value}\n`);
}
