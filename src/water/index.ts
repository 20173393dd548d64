// What water does: salinity, density, salt, dilution, evaporation, RO and resin, drain-down, heat, oxygen, low-voltage leads.
// Pure functions of numbers in the product's units, each with its source and the range it holds in; outside it they
// refuse with an error of the catalogue. Nothing here knows of equipment, parts or time of day.
export * from './air.ts';
export * from './dilution.ts';
export * from './drain.ts';
export * from './eos80.ts';
export * from './evaporation.ts';
export { absoluteSalinity, practicalOfAbsolute } from './gibbs.ts';
export * from './gravity.ts';
export * from './heat.ts';
export * from './instruments.ts';
export * from './lead.ts';
export * from './oxygen.ts';
export * from './practical-salinity.ts';
export * from './resin.ts';
export * from './ro.ts';
export * from './salt.ts';
export * from './seawater.ts';
export * from './steps.ts';
