import { loadConfig } from '../../../src/config/index.ts';
import { SlackwaterError } from '../../../src/errors/index.ts';
import { BAD } from './bad-configurations.ts';
import { badText } from './good-configuration.ts';

// Prints what the checker really says now, as a Markdown table: node test/unit/config/print-bad-table.ts
const cell = (text: string) => text.replaceAll('|', '\\|').replaceAll('\n', '<br>');

function said(text: string): string {
  try {
    loadConfig(text, 'slackwater.yaml');
    return 'accepted';
  } catch (error) {
    if (!(error instanceof SlackwaterError)) throw error;
    return error.details.map((each) => `${each.code} ${each.message} *${each.whatToDo}*`).join('\n');
  }
}

console.log(`| ${BAD.length} mistakes | written | what Slackwater says |\n| --- | --- | --- |`);
for (const each of BAD) {
  const written = each.to.trim() === '' ? '(left out)' : each.to.replaceAll('\t', '⇥').trim();
  console.log(
    `| ${cell(each.name)} | \`${cell(written).replaceAll('<br>', '` <br> `')}\` | ${cell(said(badText(each)))} |`,
  );
}
