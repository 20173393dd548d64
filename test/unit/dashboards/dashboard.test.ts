import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { describe, test } from 'node:test';
import { buttonDefs, dashboardFor, publishedStates } from '../../../src/publish/index.ts';
import { input, library, session } from '../publish/library.ts';

const template = readFileSync(new URL('../../../dashboards/slackwater.yaml', import.meta.url), 'utf8');
const procedures = [
  { id: 'skimmer-service', title: 'Skimmer service' },
  { id: 'pump-pause', title: 'Short pump pause' },
];
const made = new Map(
  buttonDefs(library, procedures, 'slackwater').map(({ button }, i) => [button, `input_button.made_${i}`]),
);
const dashboard = (text = template, buttons: ReadonlyMap<string, string> = made) =>
  dashboardFor({ tank: library, prefix: 'slackwater', procedures, buttons, template: text });

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

describe('dashboards/slackwater.yaml', () => {
  test('names only entities that are published and buttons that the hub has', () => {
    const published = new Set(publishedStates({ ...input, session }).map((one) => one.entity));
    const buttons = new Set(made.values());
    const named = strings(dashboard()).flatMap(
      (text) => text.match(/\b(?:binary_sensor|sensor|input_button)\.\w+/g) ?? [],
    );
    assert.ok(named.length > 200, `${named.length} entities named`);
    const press = 'input_button.press';
    for (const entity of named) assert.ok(published.has(entity) || buttons.has(entity) || entity === press, entity);
    for (const entity of [...published, ...buttons]) {
      assert.ok(named.includes(entity), `${entity} is on no card`);
    }
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
    const builtIn = ['sections', 'grid', 'heading', 'markdown', 'tile', 'entities', 'entity', 'attribute'];
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
    });
    const on = (button: string) => JSON.stringify(conditions.get(made.get(button) ?? ''));
    assert.match(on('confirm'), /confirmation_awaited","state":"on"/);
    assert.match(on('start:skimmer-service'), /slackwater_session","state":\["none","complete","stopped","aborted"\]/);
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
