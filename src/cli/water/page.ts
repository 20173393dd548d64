import { writeFileSync } from 'node:fs';
import { Writable } from 'node:stream';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { main } from '../program.ts';
import { expectedOf, TOPICS, type Topic, type TopicOption } from './index.ts';

const HEAD = `# Water arithmetic

\`slackwater water\` with a topic works things out from what you type. It reads no configuration, asks no service and switches nothing.

- Amounts carry their unit, metric or US: \`45 L\`, \`10 gal\`, \`25.5 °C\`, \`78 °F\`, \`53 mS/cm\`. [All units](configuration.md#units).
- Answers are metric; \`--us\` gives them in US units.
- \`--json\` gives \`{topic, what, value, unit, low?, high?, convention?, source, also?, notes?}\`. \`low\` and \`high\` are bounds, \`also\` holds
  further figures of the same shape under their names. What has no unit has the unit \`1\`.
- Outside the range in which a relation holds nothing is worked out: the refusal names the option, the range and an example.
- Every figure says where it comes from. What nobody published is marked "common practice, no source" or "from memory".

How the functions behind it compare with published values is told in [Outside checks](checks.md).

This page is written by \`node src/cli/water/page.ts\`; a test runs every call shown and compares what it says.
`;

/** The page docs/water.md, whole, with the answers as this program gives them. */
export async function waterPage(): Promise<string> {
  const list = TOPICS.map(({ name, summary }) => `- [${name}](#${name}): ${summary}`).join('\n');
  const sections = [];
  for (const topic of TOPICS) sections.push(await section(topic));
  return [HEAD, list, '', ...sections].join('\n');
}

async function section(topic: Topic): Promise<string> {
  const shown = [];
  for (const example of topic.examples) {
    const call = `water ${topic.name} ${example}`;
    shown.push(`\`\`\`text\nslackwater ${call}\n${await answerOf(call)}\`\`\`\n`);
  }
  return [
    `## ${topic.name}`,
    '',
    `${topic.summary[0]?.toUpperCase()}${topic.summary.slice(1)}. ${topic.range}`,
    '',
    '| option | what it is | takes | for example | left out |',
    '| --- | --- | --- | --- | --- |',
    ...topic.options.map(row),
    '',
    ...shown,
  ].join('\n');
}

function row({ name, help, takes, example, fallback, many }: TopicOption): string {
  const kind = takes === 'flag' ? 'nothing' : expectedOf(takes);
  const cell = (text: string | undefined): string => (text === undefined || text === '' ? '' : `\`${text}\``);
  return `| \`--${name}\` | ${help} | ${kind}${many === true ? ', several times' : ''} | ${cell(example)} | ${cell(fallback)} |`;
}

/** Words as a shell would split them, without the quotes. */
export function wordsOf(call: string): string[] {
  return (call.match(/(?:"[^"]*"|\S)+/g) ?? []).map((word) => word.replaceAll('"', ''));
}

/** What a call prints into a file; a refusal is printed as it is. */
export async function answerOf(call: string): Promise<string> {
  let text = '';
  const sink = (): Writable =>
    new Writable({
      write(chunk: Buffer, _encoding, done) {
        text += chunk.toString();
        done();
      },
    });
  await main(wordsOf(call), { out: sink(), err: sink() });
  return text;
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href)
  writeFileSync(fileURLToPath(new URL('../../../docs/water.md', import.meta.url)), await waterPage());
