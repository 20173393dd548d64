import { writeFileSync } from 'node:fs';
import { GOLDEN, goldenPath } from './golden.ts';
import { runMain } from './run-cli.ts';

for (const { name, args } of GOLDEN) writeFileSync(goldenPath(name), (await runMain(args)).out);
