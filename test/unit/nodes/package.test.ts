import assert from 'node:assert/strict';
import { mkdtemp, readdir, readFile, rm } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { after, before, describe, test } from 'node:test';
import { fileURLToPath } from 'node:url';
import { buildNodes, NODE_NAMES, PACKAGE_NAME, toCommonJs } from '../../../src/nodes/index.ts';

const ROOT = resolve(dirname(fileURLToPath(import.meta.url)), '../../..');
const FLOWS = join(ROOT, 'flows');

describe('from TypeScript to what Node-RED loads', () => {
  const built = (source: string): string => toCommonJs(source, 'x.ts');

  test('types go, names are bound and exported', () => {
    const code = built(
      [
        "import type { Gone } from './gone.ts';",
        "import { a, type Gone2, b as c } from './near.ts';",
        "import { readFile } from 'node:fs/promises';",
        "export * from './all.ts';",
        'export type Also = { readonly gone: Gone };',
        'export const one: number = 1;',
        'export async function two(x: Gone2): Promise<void> { a(x, c, readFile); }',
      ].join('\n'),
    );
    assert.match(code, /^'use strict';\n/);
    assert.match(code, /const \{ a,\s+b: c \} = require\('\.\/near\.js'\);/);
    assert.match(code, /const \{ readFile \} = require\('node:fs\/promises'\);/);
    assert.match(code, /Object\.assign\(exports, require\('\.\/all\.js'\)\);/);
    assert.match(code, /exports\.one = one;\nexports\.two = two;\n$/);
    assert.doesNotMatch(code, /Gone|Also|import|export /);
  });

  test('a form it does not know stops the build instead of shipping something broken', () => {
    const forms = [
      "import * as fs from 'node:fs';",
      "import fs from 'node:fs';",
      "import './side-effect.ts';",
      'const a = 1;\nexport { a };',
      "export { a } from './a.ts';",
      'export let a = 1;',
    ];
    for (const form of forms) assert.throws(() => built(form), /x\.ts: this form cannot be built for Node-RED/, form);
  });
});

describe('the package', () => {
  let folder: string;
  before(async () => {
    folder = await mkdtemp(join(tmpdir(), 'slackwater-nodes-'));
    await buildNodes(folder);
  });
  after(() => rm(folder, { recursive: true, force: true }));

  test('registers every type it names, the token as a password only', async () => {
    const text = await readFile(join(folder, 'package.json'), 'utf8');
    const manifest = JSON.parse(text) as { name: string; 'node-red': { nodes: Record<string, string> } };
    assert.equal(manifest.name, PACKAGE_NAME);
    assert.deepEqual(Object.keys(manifest['node-red'].nodes), [...NODE_NAMES]);
    const registered: unknown[] = [];
    const red = {
      nodes: { registerType: (type: string, _make: unknown, options?: unknown) => registered.push([type, options]) },
    };
    for (const file of Object.values(manifest['node-red'].nodes)) createRequire(join(folder, 'x.js'))(`./${file}`)(red);
    assert.deepEqual(registered, [
      ['slackwater-service', { credentials: { token: { type: 'password' } } }],
      ['slackwater-due', undefined],
      ['slackwater-wear', undefined],
      ['slackwater-session', undefined],
    ]);
  });

  test('holds no TypeScript and the flows as examples', async () => {
    const files = await readdir(folder, { recursive: true });
    assert.deepEqual(
      files.filter((file) => file.endsWith('.ts')),
      [],
    );
    assert.deepEqual((await readdir(join(folder, 'examples'))).sort(), (await readdir(FLOWS)).sort());
  });
});

describe('the forms', () => {
  for (const name of NODE_NAMES) {
    test(`${name}: form, settings, words and help agree`, async () => {
      const html = await readFile(join(ROOT, 'src/nodes', name, 'editor.html'), 'utf8');
      const words: unknown = JSON.parse(
        await readFile(join(ROOT, 'src/nodes', name, 'locales/en-US/index.json'), 'utf8'),
      );
      assert.ok(html.includes(`data-template-name="${name}"`));
      assert.ok(html.includes(`data-help-name="${name}"`));
      assert.ok(html.includes(`RED.nodes.registerType('${name}'`));

      const used = [...html.matchAll(/data-i18n="([^"]+)"|this\._\('([^']+)'\)/g)].map(
        (match) => match[1] ?? match[2] ?? '',
      );
      const known = flatKeys(words);
      assert.deepEqual([...new Set(used)].sort(), known.sort());

      const inputs = [...html.matchAll(/id="node-(?:config-)?input-([a-zA-Z]+)"/g)].map((match) => match[1]);
      const script = html.slice(html.indexOf('defaults: {'));
      const settings = [...script.matchAll(/^ {6}([a-zA-Z]+): \{ value:/gm)].map((match) => match[1]);
      const secret = /credentials: \{ (\w+):/.exec(script)?.[1];
      assert.deepEqual(inputs.sort(), [...settings, ...(secret === undefined ? [] : [secret])].sort());

      // Whatever speaks without being asked is off until someone ticks it.
      for (const flag of ['atStart', 'follow']) {
        if (settings.includes(flag)) assert.match(script, new RegExp(`${flag}: \\{ value: false \\}`));
      }
      const help = html.slice(html.indexOf('data-help-name'), html.lastIndexOf('<script'));
      const sections = [...help.matchAll(/<h3>([^<]+)<\/h3>/g)].map((match) => match[1] ?? '');
      const order = ['Inputs', 'Outputs', 'Details', 'References'];
      assert.deepEqual(
        sections,
        order.filter((section) => sections.includes(section)),
        'sections in the customary order',
      );
      assert.ok(sections.includes('Details') && sections.includes('References'));
      assert.equal(sections.includes('Inputs'), html.includes('inputs: 1'));
      assert.equal(sections.includes('Outputs'), html.includes('outputs: 1'));
    });
  }
});

describe('the flows', () => {
  const CORE = ['tab', 'comment', 'inject', 'switch', 'template', 'debug', 'catch'];
  type Item = {
    id: string;
    type: string;
    z?: string;
    info?: string;
    wires?: string[][];
    scope?: string[];
    [key: string]: unknown;
  };

  test('use core nodes and ours, are wired to what exists, and act only on a press or a schedule that acts on nothing', async () => {
    const files = await readdir(FLOWS);
    assert.deepEqual(files.sort(), ['button-to-session.json', 'due-to-message.json']);
    for (const file of files) {
      const text = await readFile(join(FLOWS, file), 'utf8');
      const items = JSON.parse(text) as Item[];
      const ids = new Set(items.map(({ id }) => id));
      assert.equal(ids.size, items.length, `${file}: ids are unique`);
      for (const item of items) {
        assert.ok([...CORE, ...NODE_NAMES].includes(item.type), `${file}: ${item.type}`);
        const targets = [
          ...(item.wires ?? []).flat(),
          ...(item.scope ?? []),
          ...(item.z === undefined ? [] : [item.z]),
        ];
        for (const target of targets) assert.ok(ids.has(target), `${file}: ${item.id} points to ${target}`);
        if (item.type === 'tab') assert.match(item.info ?? '', /Needs: /);
        if (item.type === 'inject') assert.equal(item['once'], false, `${item.id} does nothing at start`);
        if (item['service'] !== undefined) assert.ok(ids.has(String(item['service'])));
        if (item.type === 'slackwater-service')
          assert.deepEqual(Object.keys(item).sort(), ['id', 'name', 'type', 'url']);
      }
      const scheduled = items.filter((item) => item['crontab'] !== undefined && item['crontab'] !== '');
      if (items.some(({ type }) => type === 'slackwater-session')) assert.deepEqual(scheduled, []);
      assert.doesNotMatch(text, /token|credentials|password|bearer/i, `${file} holds no secret`);
    }
  });
});

function flatKeys(value: unknown, prefix = ''): string[] {
  if (typeof value !== 'object' || value === null) return [prefix.slice(0, -1)];
  return Object.entries(value).flatMap(([key, inner]) => flatKeys(inner, `${prefix}${key}.`));
}
