import type { CardLine, CardSection, EmergencyCard } from './emergency-card.ts';

/** Columns of a typewriter face of 9 points on a sheet of A5 with margins. */
export const A5_COLUMNS = 60;

/** Plain text as wide as a sheet of A5; `printed` is the day it was made. */
export function cardText(card: EmergencyCard, printed: string, width = A5_COLUMNS): string {
  const rule = '='.repeat(width);
  const lines = [
    rule,
    ...wrap(`${card.title.toUpperCase()}: ${card.tank}`, '', width),
    `Printed ${printed}. A newer tank needs a newer card.`.slice(0, width),
    rule,
    '',
    ...card.cautions.flatMap((text) => wrap(text, '! ', width)),
    '',
    ...card.facts.flatMap((text) => wrap(text, '', width)),
    ...card.sections.flatMap((section) => ['', ...sectionText(section, width)]),
    '',
    ...card.blanks.map((text) => `${text}: `.padEnd(width, '_')),
  ];
  return lines.join('\n');
}

function sectionText({ title, intro, ordered, lines }: CardSection, width: number): string[] {
  const head = `-- ${title.toUpperCase()} `;
  return [
    head.padEnd(width, '-'),
    ...(intro === '' ? [] : wrap(intro, '', width)),
    ...lines.flatMap((line, index) =>
      wrap(lineText(line), ordered ? `${String(index + 1).padStart(2)}. ` : ' -  ', width),
    ),
  ];
}

function lineText({ text, place, note }: CardLine): string {
  return `${text}${place === '' ? '' : ` [${place}]`}${note === '' ? '' : `: ${note}`}`;
}

function wrap(text: string, first: string, width: number): string[] {
  const indent = ' '.repeat(first.length);
  const lines: string[] = [];
  let line = first;
  for (const word of text.split(' ')) {
    const isEmpty = line === first || line === indent;
    if (!isEmpty && line.length + 1 + word.length > width) {
      lines.push(line);
      line = indent + word;
    } else line = isEmpty ? line + word : `${line} ${word}`;
  }
  return [...lines, line];
}

/** A page that prints on A5 by itself: no script, nothing fetched. */
export function cardHtml(card: EmergencyCard, printed: string): string {
  const sections = card.sections.map(sectionHtml).join('\n');
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>${safe(card.title)}: ${safe(card.tank)}</title>
<style>
@page { size: A5; margin: 9mm; }
body { font: 9.5pt/1.3 sans-serif; max-width: 130mm; margin: 0 auto; color: #000; background: #fff; }
h1 { font-size: 15pt; margin: 0; }
h2 { font-size: 11pt; margin: 3mm 0 1mm; border-bottom: 1px solid #000; break-after: avoid; }
p, ul, ol { margin: 1mm 0; }
ul, ol { padding-left: 6mm; }
section { break-inside: avoid; }
.cautions { border: 2px solid #000; padding: 1mm 2mm 1mm 6mm; }
.place { font-weight: bold; }
.blank { border-bottom: 1px solid #000; padding-top: 3mm; }
</style>
</head>
<body>
<h1>${safe(card.title)}: ${safe(card.tank)}</h1>
<p>Printed ${safe(printed)}. A newer tank needs a newer card.</p>
<ul class="cautions">${card.cautions.map((text) => `<li>${safe(text)}</li>`).join('')}</ul>
${card.facts.map((text) => `<p>${safe(text)}</p>`).join('\n')}
${sections}
${card.blanks.map((text) => `<p class="blank">${safe(text)}:</p>`).join('\n')}
</body>
</html>`;
}

function sectionHtml({ title, intro, ordered, lines }: CardSection): string {
  const tag = ordered ? 'ol' : 'ul';
  const items = lines.map(
    ({ text, place, note }) =>
      `<li>${safe(text)}${place === '' ? '' : ` <span class="place">[${safe(place)}]</span>`}${note === '' ? '' : `: ${safe(note)}`}</li>`,
  );
  const list = items.length === 0 ? '' : `<${tag}>${items.join('')}</${tag}>`;
  return `<section><h2>${safe(title)}</h2>${intro === '' ? '' : `<p>${safe(intro)}</p>`}${list}</section>`;
}

const ESCAPES: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};
const safe = (text: string): string => text.replace(/[&<>"']/g, (sign) => ESCAPES[sign] ?? sign);
