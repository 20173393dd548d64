import { fileURLToPath } from 'node:url';

// Texts of the command line that were read over, whole.
const pathOf = (name: string): string => fileURLToPath(new URL(name, import.meta.url));
export const DEMO = pathOf('../../../src/sim/demo-tank.yaml');
export const SPARSE = pathOf('../../support/sparse-tank.yaml');
export const goldenPath = (name: string): string => pathOf(`golden/${name}.txt`);

const HOURS = ['--at', '08:00', '--lights', '07:00-21:30'];
export const GOLDEN = [
  { name: 'annual-overhaul-demo', args: ['rehearse', 'annual overhaul', '-c', DEMO, ...HOURS] },
  { name: 'annual-overhaul-sparse', args: ['rehearse', 'annual overhaul', '-c', SPARSE, ...HOURS] },
] as const;
