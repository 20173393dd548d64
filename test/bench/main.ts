// Speed and memory, as figures and as ratios to a named reference run in the same process. Not a test: nothing fails here.
import { cpus } from 'node:os';
import { benchCount } from './count.ts';
import { benchService } from './service.ts';

const ROWS = 1_000_000;

const count = benchCount(ROWS);
const service = await benchService();
const figures = {
  node: process.versions.node,
  cpus: cpus().length,
  countRows: count.rows,
  countObservationsPerS: Math.round(count.observationsPerS),
  sqliteWindowObservationsPerS: Math.round(count.sqliteWindowObservationsPerS),
  countRatio: Number(count.ratio.toFixed(2)),
  latencySamples: service.samples,
  eventToPublishedP50Ms: Number(service.eventToPublishedP50Ms.toFixed(2)),
  eventToPublishedP99Ms: Number(service.eventToPublishedP99Ms.toFixed(2)),
  rssMb: Math.round(service.rssMb),
  rssAfterHistoryMb: Math.round(service.rssAfterHistoryMb),
  firstStartMs: Math.round(service.firstStartMs),
  coldStartMs: Math.round(service.coldStartMs),
};
if (process.argv.includes('--json')) process.stdout.write(`${JSON.stringify(figures)}\n`);
else for (const [name, value] of Object.entries(figures)) process.stdout.write(`${name.padEnd(32)} ${value}\n`);
