// What monitored signals say of equipment and parts: learned signatures, drift, steps, trends, out of range. Pure.
// Belongs here: from minutes of power and observations to findings. Not here: dates (forecast/), what to tell (remind/).
export * from './stats/index.ts';
