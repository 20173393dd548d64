// The simulated home, shipped: a hub that speaks the real one's protocol, over a tank with physics, plugs with faults and
// a recorded past from a seed. Nothing here imports the service; an edge puts the two together.
export { atLocal, DEMO_DAY, DEMO_NOW, DEMO_ZONE, localTime } from './calendar.ts';
export { type DemoHome, type DemoHomeOptions, demoTankYaml, startDemoHome } from './demo.ts';
export type { RecordedPast, SimTruth, WaterKind } from './history/index.ts';
export * from './home/index.ts';
export { type EntityState, HubRefusal, type LinkFault, type Notification } from './hub/index.ts';
export {
  type Behaviour,
  neighbourOf,
  type PersonAct,
  type PersonOptions,
  type SimulatedPerson,
  simulatedPerson,
} from './persons.ts';
export { idText, type Prng, prng, seedFor } from './random.ts';
export * from './replay/index.ts';
export { SCHEDULES, type Schedule, scheduledOn } from './schedules.ts';
export * from './tank/index.ts';
