import { pathToFileURL } from 'node:url';
import { AREAS } from './catalogue/index.ts';
import type { CatalogueEntry } from './entry.ts';

/** The reference page docs/errors.md, whole. */
export function errorsPage(): string {
  const lines = [
    '# Errors',
    '',
    'Every problem that Slackwater reports has a code that never changes its meaning. Words in braces are filled in with',
    'what was found. *Passing* means that the service keeps trying by itself; *lasting* means that nothing changes until a',
    'person acts.',
    '',
    'This page is written by `node src/errors/page.ts > docs/errors.md`.',
  ];
  for (const area of AREAS) {
    lines.push('', `## ${area.title}`);
    for (const [code, entry] of Object.entries<CatalogueEntry>(area.entries)) {
      lines.push('', `### ${code}`, '', entry.template, '');
      lines.push(`- Kind: ${entry.lasting === 'transient' ? 'passing' : 'lasting'}`);
      lines.push(
        `- What to do: ${entry.whatToDo === '{hint}' ? 'the message says it for the case at hand' : entry.whatToDo}`,
      );
    }
  }
  return `${lines.join('\n')}\n`;
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  process.stdout.write(errorsPage());
}
