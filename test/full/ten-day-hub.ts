// Prints the table of eighteen months of the demo tank through a hub that keeps ten days: node test/full/ten-day-hub.ts [days]
import { tenDayRun, tenDayTable } from './ten-day-past.ts';

const days = Number(process.argv[2] ?? 546);
process.stdout.write(`${tenDayTable(await tenDayRun(days))}\n`);
