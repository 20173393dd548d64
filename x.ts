import { loadConfig } from './src/config/index.ts';
import { demoTankYaml } from './src/sim/index.ts';
import { buildPlan } from './src/procedure/index.ts';
const { config } = loadConfig(demoTankYaml('http://x'), 'x.yaml');
console.log(buildPlan('power-cut-restart', config.tank, config.rules).steps.filter(s=>s.id.includes('hours-dark')).map(s=>s.id).join());
