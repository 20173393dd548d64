// What stands behind the simulated hub's entities: plugs with their faults, sensors with their noise, drivers, and the
// tank that all of them act on. `startSimHub` puts hub and home together.
export { THERMOSTATS, type Thermostat } from './drivers.ts';
export { isPlugFault, LATE_REPORT_MS, PLUG_FAULTS, type PlugFault, REVIVE_AFTER_MS } from './faults.ts';
export { pastOf } from './past.ts';
export { meterGain, type PlugTruth } from './plug.ts';
export { sensorSpecs } from './sensors.ts';
export { DEMO_PERSONS, type SimHub, type SimHubOptions, type SimPerson, startSimHub } from './sim-hub.ts';
