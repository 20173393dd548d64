// Writes docs/checks.md: every outside check with value, source, ours and error. Run after a row was added.
import { writeFileSync } from 'node:fs';
import { checksPage } from './page.ts';

const page = await checksPage();
writeFileSync(new URL('../../docs/checks.md', import.meta.url), page);
