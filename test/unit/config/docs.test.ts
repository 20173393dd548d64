import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { describe, test } from 'node:test';
import { parse } from 'yaml';
import { z } from 'zod';
import { configSchemaJson, exampleYaml, loadConfig, referencePage } from '../../../src/config/index.ts';
import { GENERATED_DOCS } from '../../../src/config/write-docs.ts';
import { PARTS, RULES } from '../../../src/rules/index.ts';

const doc = (name: string) => readFileSync(new URL(`../../../docs/${name}`, import.meta.url), 'utf8');

describe('generated pages', () => {
  for (const [name, write] of Object.entries(GENERATED_DOCS)) {
    test(`docs/${name} is what the schema says now`, () => {
      assert.equal(doc(name), write());
    });
  }

  test('the reference names every kind of part and every rule setting', () => {
    const page = referencePage();
    for (const kind of Object.keys(PARTS)) assert.ok(page.includes(`| \`${kind}\` |`), kind);
    for (const [id, rule] of Object.entries(RULES)) {
      const rows = page.split('\n').filter((line) => line.startsWith(`| \`${id}.`));
      assert.equal(rows.length, Object.keys(rule.settings).length, id);
    }
  });
});

describe('the example', () => {
  test('is accepted as it stands', () => {
    const { config } = loadConfig(exampleYaml(), 'slackwater.example.yaml');
    assert.equal(config.tank.equipment.length, 9);
    assert.equal(config.tank.counters.length, 6);
    assert.equal(config.tank.parts.length, 5);
  });

  test('shows every section of the schema', () => {
    const sections = Object.keys(JSON.parse(configSchemaJson()).properties);
    assert.deepEqual(Object.keys(parse(exampleYaml())), sections);
  });
});

describe('the JSON Schema for editors', () => {
  // Read back by a reader of JSON Schema, not by our own types.
  const editor = z.fromJSONSchema(JSON.parse(configSchemaJson()));
  const example: Record<string, Record<string, Record<string, unknown>>> = parse(exampleYaml());

  test('accepts the example', () => {
    assert.deepEqual(editor.safeParse(example).error?.issues ?? [], []);
  });

  test('marks an unknown key, a wrong word, and a number where a quantity belongs', () => {
    const changed = (part: Record<string, unknown>) => ({ ...example, ...part });
    const equipment = { ...example['equipment'] };
    assert.equal(editor.safeParse(changed({ colour: 'blue' })).success, false);
    assert.equal(editor.safeParse(changed({ tank: { ...example['tank'], volume: 210 } })).success, false);
    const wrongRole = { ...equipment, skimmer: { ...equipment['skimmer'], role: 'skimer' } };
    assert.equal(editor.safeParse(changed({ equipment: wrongRole })).success, false);
    const { hub: _, ...noHub } = example;
    assert.equal(editor.safeParse(noHub).success, false);
  });
});
