import { solvers } from '../../checks/condition.ts';
import { runChecks } from '../../checks/run.ts';

runChecks('condition', solvers);
