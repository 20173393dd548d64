import { runChecks } from '../../checks/run.ts';
import { solvers } from '../../checks/water.ts';

runChecks('water', solvers);
