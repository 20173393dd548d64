// Pages against the product: what a reader is told to type exists, what is linked is there, no command goes untold.
import assert from 'node:assert/strict';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { test } from 'node:test';
import type { Command } from 'commander';
import { createOutput } from '../../src/cli/output.ts';
import { buildProgram } from '../../src/cli/program.ts';
import { ROOT } from './source.ts';

type Page = { readonly path: string; readonly text: string };

const page = (path: string): Page => ({ path, text: readFileSync(join(ROOT, path), 'utf8') });
const TOP = readdirSync(ROOT).filter((name) => name.endsWith('.md'));
const BELOW = readdirSync(join(ROOT, 'docs'), { recursive: true, encoding: 'utf8' })
  .filter((name) => name.endsWith('.md'))
  .map((name) => join('docs', name));
const PAGES = [...TOP, ...BELOW].map(page);

const program = buildProgram(createOutput());

/** What stands in blocks and between backticks, a line each. */
function typed({ text }: Page): string[] {
  const blocks = [...text.matchAll(/^ *```[a-z]*\n([\s\S]*?)^ *```$/gm)].flatMap((match) =>
    (match[1] ?? '').split('\n'),
  );
  const prose = text.replace(/^ *```[\s\S]*?^ *```$/gm, '');
  const indented = [...prose.matchAll(/^ {4}(\S.*)$/gm)].map((match) => match[1] ?? '');
  const inline = [...prose.matchAll(/`([^`\n]+)`/g)].map((match) => match[1] ?? '');
  return [...blocks, ...indented, ...inline].map((line) => line.trim());
}

/** Words behind `slackwater`, directly or through npm. */
function calls(from: Page): string[][] {
  return typed(from).flatMap((line) => {
    const words = /(?:^|&& )(?:slackwater|npm run (?:-s )?slackwater --) (.+)$/.exec(line)?.[1];
    const demo = /(?:^|&& )npm run (?:-s )?demo(?: -- (.+))?$/.exec(line);
    if (demo !== null) return [['demo', ...split(demo[1] ?? '')]];
    return words === undefined ? [] : [split(words.replace(/\s+#.*$/, ''))];
  });
}

const split = (text: string): string[] => text.match(/(?:"[^"]*"|\S)+/g) ?? [];

/** Null where the words are a command with options it knows and as many arguments as it takes. */
function wrong(words: readonly string[]): string | null {
  const rest = [...words];
  const options: string[] = [];
  let at: Command = program;
  const takesValue = (word: string): boolean => {
    const option = [...at.options, ...program.options].find((one) => one.long === word || one.short === word);
    return option !== undefined && (option.required || option.optional);
  };
  const given: string[] = [];
  for (let word = rest.shift(); word !== undefined; word = rest.shift()) {
    const name = word.split('=')[0] ?? word;
    if (word.startsWith('-')) {
      options.push(word.startsWith('--') ? name : word);
      if (!word.includes('=') && takesValue(name)) rest.shift();
      continue;
    }
    const sub = at.commands.find((one) => one.name() === word);
    if (sub !== undefined && given.length === 0) at = sub;
    else given.push(word);
  }
  const known = [...at.options, ...program.options].flatMap((one) => [one.long, one.short]);
  const strange = options.find((one) => !known.includes(one) && one !== '--help');
  if (strange !== undefined) return `${at.name()} has no option ${strange}`;
  if (at === program) return given.length === 0 ? null : `no command ${given[0]}`;
  const most = at.registeredArguments.length;
  if (given.length > most) return `${at.name()} takes ${most} arguments, not ${given.join(' ')}`;
  return null;
}

/** "COMMAND" and the like stand for what a reader puts there. */
const isPattern = (words: readonly string[]): boolean => words[0] === undefined || /^[A-Z]+$|^…$|^\{/.test(words[0]);

test('every command a page shows exists, with its options', () => {
  const found = PAGES.flatMap((one) => calls(one).map((words) => ({ path: one.path, words })));
  assert.ok(found.length > 30, `only ${found.length} commands found`);
  const bad = found.flatMap(({ path, words }) => {
    const why = isPattern(words) ? null : wrong(words);
    return why === null ? [] : [`${path}: slackwater ${words.join(' ')}: ${why}`];
  });
  assert.deepEqual(bad, []);
});

test('the check of commands can fail', () => {
  assert.equal(wrong(['usage', '--why', 'uv-lamp']), null);
  assert.equal(wrong(['demo', '--limit', 'uv-lamp:on-hours="9,500 h"', '--once']), null);
  assert.match(wrong(['usge']) ?? '', /no command/);
  assert.match(wrong(['usage', '--whi', 'x']) ?? '', /no option --whi/);
  assert.match(wrong(['session', 'start', 'a', 'b']) ?? '', /takes 1/);
});

test('every command is told in docs/cli.md under its own heading, and in no other way', () => {
  const headings = [...page('docs/cli.md').text.matchAll(/^### (\S+)$/gm)].map((match) => match[1] ?? '');
  assert.deepEqual(headings.toSorted(), program.commands.map((one) => one.name()).toSorted());
  const text = page('docs/cli.md').text;
  const subs = program.commands.flatMap((one) => one.commands.map((sub) => `${one.name()} ${sub.name()}`));
  assert.deepEqual(
    subs.filter((words) => !text.includes(`slackwater ${words}`)),
    [],
  );
});

test('every npm script a page names exists', () => {
  const { scripts } = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as {
    scripts: Record<string, string>;
  };
  const named = PAGES.flatMap(({ path, text }) =>
    [...text.matchAll(/\bnpm (?:run (?:-s )?([a-z][a-z:-]*)|(test|start)\b)/g)].map((match) => ({
      path,
      script: match[1] ?? match[2] ?? '',
    })),
  );
  assert.ok(named.length > 5);
  assert.deepEqual(
    named.filter(({ script }) => scripts[script] === undefined),
    [],
  );
});

test('every link and picture is there', () => {
  const bad = PAGES.flatMap(({ path, text }) =>
    [...text.matchAll(/\]\(([^)\s]+)\)/g)]
      .map((match) => match[1] ?? '')
      .filter((target) => !/^(?:https?:|mailto:|#)/.test(target))
      .map((target) => target.split('#')[0] ?? '')
      .map((target) => relative(ROOT, resolve(ROOT, dirname(path), target)))
      .filter((target) => !existsSync(join(ROOT, target)))
      .map((target) => `${path}: ${target}`),
  );
  assert.deepEqual(bad, []);
});

test('every file and folder a page for developers names is there', () => {
  const named = [...page('DEVELOPERS.md').text.matchAll(/`((?:src|test|docs|flows|dashboards|\.ci)[\w./-]*)`/g)].map(
    (match) => match[1] ?? '',
  );
  assert.ok(named.length > 30);
  // A folder that is still empty is not kept by git.
  const planned = ['src/plan'];
  assert.deepEqual(
    named.filter((path) => !existsSync(join(ROOT, path)) && !planned.includes(path)),
    [],
  );
  const inProcedure = [
    ...page('DEVELOPERS.md').text.matchAll(/`(procedure|app|publish|rules|io\/hub)\/([\w-]+\.ts)`/g),
  ].map((match) => `src/${match[1]}/${match[2]}`);
  assert.deepEqual(
    inProcedure.filter((path) => !existsSync(join(ROOT, path))),
    [],
  );
});

test('every environment variable a page names is read somewhere, and the other way round', () => {
  const named = new Set(PAGES.flatMap(({ text }) => text.match(/\bSLACKWATER_[A-Z_]+\b/g) ?? []));
  const read = new Set<string>();
  for (const folder of ['src', 'test', '.ci'])
    for (const name of readdirSync(join(ROOT, folder), { recursive: true, encoding: 'utf8' })) {
      if (!/(\.ts|\/run|^run)$/.test(name) || /node_modules|dist\//.test(name)) continue;
      const text = readFileSync(join(ROOT, folder, name), 'utf8');
      for (const found of text.match(/(?<=process\.env\[')SLACKWATER_[A-Z_]+/g) ?? []) read.add(found);
    }
  // The hub's token and Node-RED's are named by the configuration, not by the program.
  const byConfiguration = ['SLACKWATER_HUB_TOKEN', 'SLACKWATER_TOKEN'];
  assert.deepEqual(
    [...named].filter((name) => !read.has(name) && !byConfiguration.includes(name)),
    [],
  );
  assert.deepEqual(
    [...read].filter((name) => !named.has(name)),
    [],
  );
});

test('fields of the measurements in the README are those that are printed', () => {
  const table = /## Speed and size\n([\s\S]*?)\n## /.exec(page('README.md').text)?.[1] ?? '';
  const fields = [...table.matchAll(/`([a-z][A-Za-z0-9]+)`/g)].map((match) => match[1] ?? '');
  const bench = readdirSync(join(ROOT, 'test/bench')).map((name) =>
    readFileSync(join(ROOT, 'test/bench', name), 'utf8'),
  );
  assert.ok(fields.length >= 7);
  assert.deepEqual(
    fields.filter((field) => !bench.some((text) => new RegExp(`\\b${field}\\b`).test(text))),
    [],
  );
});
