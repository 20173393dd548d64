import { solvers } from '../../checks/forecast.ts';
import { runChecks } from '../../checks/run.ts';

runChecks('forecast', solvers);
