// The service in a process of its own, so that it can be killed at any moment: node session-child.ts CONFIG
// Prints its log, and a line of its own once it hears what is pressed in the hub.
import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { startRealService } from '../scenarios/real-service.ts';

const [configFile = ''] = process.argv.slice(2);
const hubToken = readFileSync(join(dirname(configFile), 'hub-token'), 'utf8').trim();
await startRealService({ configFile, hubToken, write: (line) => void process.stdout.write(line) });
process.stdout.write('ready\n');
