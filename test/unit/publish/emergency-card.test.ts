import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { exampleYaml, loadConfig } from '../../../src/config/index.ts';
import { A5_COLUMNS, cardHtml, cardText, emergencyCard } from '../../../src/publish/index.ts';
import { ROLES } from '../../../src/rules/index.ts';

const { tank, rules, deputies, guards } = loadConfig(exampleYaml(), 'x.yaml').config;
const placed = {
  ...tank,
  equipment: tank.equipment.map((one) => (one.id === 'top-off' ? { ...one, place: 'cabinet left, socket 1' } : one)),
};
const card = emergencyCard(placed, rules, deputies, guards);
const section = (title: RegExp) => {
  const found = card.sections.find((one) => title.test(one.title));
  if (found === undefined) throw new Error(`no section ${title}`);
  return found;
};
const names = (title: RegExp) => section(title).lines.map(({ text }) => text);

describe('the emergency card', () => {
  test('begins with the local code, then people', () => {
    assert.match(card.cautions[0] ?? '', /^Your local electrical code/);
    assert.match(card.cautions[1] ?? '', /^People come before animals/);
    const text = cardText(card, '2026-01-05');
    assert.ok(text.indexOf('local electrical code') < text.indexOf('WATER WHERE'));
  });

  test('names whatever adds water first, before the return, and never says to stop the return blindly', () => {
    const lines = names(/Water where/);
    assert.deepEqual(lines.slice(0, 3), ['Top off', 'RO unit', 'Close the hand valve of the water supply.']);
    assert.ok(
      lines.findIndex((text) => /Leave the return on/.test(text)) < lines.findIndex((text) => /Return off/.test(text)),
    );
  });

  // K34: adders, dosers, skimmer, heat, UV, reactors, return, circulation last. K22 is the way back, top-off last.
  test('stops adders first and circulation last, starts circulation first and the top-off last', () => {
    const off = names(/^Off by hand/);
    assert.equal(off[0], 'Top off');
    assert.deepEqual(off.slice(-2), ['Return pump', 'Circulation left']);
    const on = names(/^On again/);
    assert.equal(on[0], 'Circulation left');
    assert.equal(on.at(-1), 'Top off');
  });

  test('says how long each may be off, and where its plug is', () => {
    const [topOff] = section(/^Off by hand/).lines;
    assert.deepEqual(topOff, { text: 'Top off', place: 'cabinet left, socket 1', note: 'may be off 12 h' });
    assert.match(
      section(/^Keep running/).intro,
      /act after 15 min, it is serious after 30 min, and never longer than 1 h/,
    );
  });

  test('follows the tank’s own rules', () => {
    const own = emergencyCard(tank, { K16: { warnMs: 300_000 } }, deputies, guards);
    assert.match(own.sections.find(({ title }) => title === 'Keep running')?.intro ?? '', /act after 5 min/);
  });

  test('tells what never to switch on with the harm it does', () => {
    const never = section(/^Never switch on/);
    const heater = never.lines.find(({ text }) => text.includes('Heater left'));
    assert.equal(heater?.note, ROLES.heater.hazardStarted);
    assert.ok(never.lines.some(({ text }) => text === 'Top off'));
    assert.match(never.intro, /A plug somebody has pulled/);
  });

  test('says whether the drain-down fits, and that it was not measured where it was not', () => {
    assert.ok(card.facts.some((text) => text === 'When the return stops 11 L come down; room for 32 L: it fits.'));
    const tight = emergencyCard({ ...tank, sump: { ...tank.sump, drainDownL: 40 } as never }, rules, deputies, guards);
    assert.ok(tight.facts.some((text) => /it may NOT fit: keep the return running/.test(text)));
    const { drainDownL: _, ...sump } = tank.sump ?? { litresPerCm: 1, normalLevelCm: 1, rimLevelCm: 2 };
    const unlearned = emergencyCard({ ...tank, sump }, rules, deputies, guards);
    assert.ok(unlearned.facts.some((text) => /was not measured yet/.test(text)));
  });

  test('a tank of next to nothing still gets a card', () => {
    const bare = emergencyCard({ ...tank, equipment: [], people: [] }, {}, {}, []);
    assert.ok(bare.sections.length >= 3);
    assert.ok(cardText(bare, '2026-01-05').includes('Water shut-off'));
  });
});

describe('on paper', () => {
  test('the text is no wider than a sheet of A5', () => {
    const wide = cardText(card, '2026-01-05')
      .split('\n')
      .filter((line) => line.length > A5_COLUMNS);
    assert.deepEqual(wide, []);
  });

  test('the page is for A5, holds all that the text holds, and fetches nothing', () => {
    const page = cardHtml(card, '2026-01-05');
    assert.match(page, /@page \{ size: A5/);
    for (const { title, lines } of card.sections) {
      assert.ok(page.includes(title));
      for (const { text } of lines) assert.ok(page.includes(text.replaceAll("'", '&#39;')), text);
    }
    assert.ok(!/<script|https?:|src=|url\(/.test(page));
  });

  test('a name with signs of its own does not break the page', () => {
    const page = cardHtml(emergencyCard({ ...tank, name: '<b>"Reef" & co' }, rules, deputies, guards), '2026-01-05');
    assert.ok(page.includes('&lt;b&gt;&quot;Reef&quot; &amp; co'));
    assert.ok(!page.includes('<b>'));
  });
});
