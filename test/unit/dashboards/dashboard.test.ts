import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { describe, test } from 'node:test';
import { buttonDefs, dashboardFor, publishedStates } from '../../../src/publish/index.ts';
import { input, library, session } from '../publish/library.ts';

const template = readFileSync(new URL('../../../dashboards/slackwater.yaml', import.meta.url), 'utf8');
const [served = ''] = library.parts.map(({ id }) => id);
const procedures = [
  { id: 'leak-response', title: 'Leak response', occasion: 'emergency', parts: [] },
  { id: 'skimmer-service', title: 'Skimmer service', occasion: 'routine', parts: [served] },
  { id: 'uv-service', title: 'UV lamp and sleeve', occasion: 'rare', parts: [] },
  { id: 'pump-pause', title: 'Short pump pause', occasion: 'routine', parts: [] },
] as const;
const made = new Map(
  buttonDefs(library, procedures, 'slackwater').map(({ button }, i) => [button, `input_button.made_${i}`]),
);
const dashboard = (text = template, buttons: ReadonlyMap<string, string> = made) =>
  dashboardFor({ tank: library, prefix: 'slackwater', procedures, buttons, page: '/slackwater-tank', template: text });

const walk = (node: unknown, visit: (key: string, value: unknown) => void): void => {
  if (typeof node !== 'object' || node === null) return;
  for (const [key, value] of Object.entries(node)) {
    visit(key, value);
    walk(value, visit);
  }
};
const strings = (node: unknown): string[] => {
  const found: string[] = [];
  walk(node, (_key, value) => {
    if (typeof value === 'string') found.push(value);
  });
  return found;
};

const rowsOf = (card: unknown): string[] =>
  (card as { entities: { entity?: string }[] }).entities.flatMap(({ entity = [] }) => entity);

describe('dashboards/slackwater.yaml', () => {
  test('names only entities that are published and buttons that the hub has', () => {
    const published = new Set(publishedStates({ ...input, session }).map((one) => one.entity));
    const buttons = new Set(made.values());
    const named = strings(dashboard()).flatMap(
      (text) => text.match(/\b(?:binary_sensor|sensor|input_button|input_text)\.\w+/g) ?? [],
    );
    assert.ok(named.length > 200, `${named.length} entities named`);
    const press = 'input_button.press';
    for (const entity of named) assert.ok(published.has(entity) || buttons.has(entity) || entity === press, entity);
    for (const entity of [...published, ...buttons]) {
      assert.ok(named.includes(entity), `${entity} is on no card`);
    }
  });

  test('what serves a due part comes first, then what is done now and then; the rest is a page away', () => {
    const [tankPage, services] = dashboard()['views'] as readonly unknown[];
    const starts = (view: unknown): string[] =>
      strings(view).filter((text) => /service|pause|sleeve|response/.test(text));
    const shown = starts(tankPage).filter((text) => procedures.some(({ title }) => text.endsWith(title)));
    const once = ['Due now, start: Skimmer service', 'Short pump pause', 'Skimmer service', 'Leak response'];
    // Its place differs while a session is under way; it stands in the template once.
    assert.deepEqual(shown, [...once, ...once]);
    assert.ok(strings(tankPage).includes('/slackwater-tank/services'));
    const all = starts(services).filter((text) => procedures.some(({ title }) => text === title));
    assert.deepEqual(all, ['Short pump pause', 'Skimmer service', 'UV lamp and sleeve', 'Leak response']);
    const due: unknown[] = [];
    walk(tankPage, (key, value) => {
      if (key === 'conditions' && JSON.stringify(value).includes(`${served.replaceAll('-', '_')}_standing`))
        due.push(value);
    });
    assert.equal(due.length, 2, 'and only while that part is due');
  });

  test('every attribute it reads is published', () => {
    const attributes = new Map(
      publishedStates({ ...input, session, now: 0 }).map((one) => [one.entity, one.attributes]),
    );
    const texts = strings(dashboard()).filter((text) => text.includes('state_attr'));
    let read = 0;
    for (const text of texts) {
      const variables = new Map([...text.matchAll(/set (\w+) = '([\w.]+)'/g)].map((match) => [match[1], match[2]]));
      for (const [, quoted, variable, attribute = ''] of text.matchAll(
        /state_attr\((?:'([\w.]+)'|(\w+)), '(\w+)'\)/g,
      )) {
        const entity = quoted ?? variables.get(variable) ?? '';
        assert.ok(attribute in (attributes.get(entity) ?? {}), `${entity} ${attribute}`);
        read += 1;
      }
    }
    assert.ok(read > 30, `${read} attributes read`);
  });

  test("uses only the hub's built-in cards", () => {
    const cards = ['sections', 'grid', 'heading', 'markdown', 'tile', 'entities', 'entity'];
    const builtIn = [...cards, 'attribute', 'button', 'section'];
    walk(dashboard(), (key, value) => {
      if (key === 'type') assert.ok(builtIn.includes(String(value)), String(value));
    });
  });

  test('nothing is left to fill in', () => {
    const text = JSON.stringify(dashboard());
    assert.doesNotMatch(text, /\[\[|\]\]|for-each|"show"/);
  });

  test('each part is under its equipment, in the configured order, and parts of none come last', () => {
    const [view] = dashboard()['views'] as { sections: { cards: { heading?: string; type: string }[] }[] }[];
    const groups = view?.sections.map(({ cards }) => cards[0]?.heading).slice(-12);
    assert.deepEqual(groups, [...library.equipment.map((one) => one.name), 'Other parts']);
    const other = JSON.stringify(view?.sections.at(-1));
    assert.match(other, /pH electrode/);
    assert.match(other, /RCD test/);
  });

  test('Confirm shows only while something is asked, and starts only while no session is open', () => {
    const conditions = new Map<string, unknown>();
    walk(dashboard(), (_key, value) => {
      if (typeof value !== 'object' || value === null) return;
      const { type, entity, visibility } = value as Record<string, unknown>;
      if (type === 'tile') conditions.set(String(entity), visibility);
      if (type === 'entities') for (const row of rowsOf(value)) conditions.set(row, visibility);
    });
    const on = (button: string) => JSON.stringify(conditions.get(made.get(button) ?? ''));
    assert.match(on('confirm'), /confirmation_awaited","state":"on"/);
    assert.match(on('start:skimmer-service'), /slackwater_session","state":\["none","complete","stopped","aborted"\]/);
    assert.match(on('value'), /value_awaited","state":"on"/);
    assert.match(on('abort'), /"state":\["idle","running","held","restarting"\]/);
    assert.match(on('done:uv-lamp'), /slackwater_uv_lamp_standing/);
  });
});

describe('a template that cannot be used is refused naming the place', () => {
  test('unknown name', () => {
    assert.throws(() => dashboard("views:\n  - title: '[[tnak]]'\n"), {
      code: 'SW-PUB-001',
      message: /dashboard\.views\[0\]\.title: found \[\[tnak\]\], expected one of .*tank/,
    });
  });

  test('unknown list', () => {
    assert.throws(() => dashboard('views:\n  - for-each: pump\n    show: { type: x }\n'), {
      code: 'SW-PUB-001',
      message: /found for-each: pump/,
    });
  });

  test('no YAML, and no views', () => {
    assert.throws(() => dashboard('views: [1'), { code: 'SW-PUB-001', message: /expected YAML/ });
    assert.throws(() => dashboard('title: x'), { code: 'SW-PUB-001', message: /expected a list under `views`/ });
  });

  test('a button the hub does not have yet', () => {
    assert.throws(() => dashboard(template, new Map()), { code: 'SW-PUB-002', message: /needs the button "confirm"/ });
  });
});
