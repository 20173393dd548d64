// Writes docs/water.md: every topic with its options, and calls with the answers they give.
import { writeFileSync } from 'node:fs';
import { waterPage } from './page.ts';

writeFileSync(new URL('../../../docs/water.md', import.meta.url), await waterPage());
