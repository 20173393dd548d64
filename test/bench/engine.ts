// How much processor time the session engine takes for one event: whole sessions lived once on a toy plant, then replayed without it.
import { replay } from '../../src/procedure/index.ts';
import { ada, createSitting, ended, type Sitting } from '../unit/procedure/plant.ts';
import { reef, small } from '../unit/procedure/tanks.ts';

const SITTINGS: Readonly<Record<string, Sitting>> = {
  'pump pause, full reef': { tank: reef(), procedure: 'pump-pause', answer: () => ada },
  'skimmer service, full reef': { tank: reef(), procedure: 'skimmer-service', answer: () => ada },
  'skimmer service, small tank': { tank: small(), procedure: 'skimmer-service', answer: () => ada },
};
const ROUNDS = Number(process.argv[2] ?? 40);

for (const [name, sitting] of Object.entries(SITTINGS)) {
  const s = createSitting(sitting);
  const state = s.until('its end', ended);
  const { events } = s.trail;
  for (let i = 0; i < 5; i++) replay(events, s.ctx);
  const from = process.cpuUsage();
  for (let i = 0; i < ROUNDS; i++) replay(events, s.ctx);
  const perEventUs = process.cpuUsage(from).user / ROUNDS / events.length;
  console.log(`${name}: ${state.status}, ${events.length} events, ${perEventUs.toFixed(2)} µs an event`);
}
