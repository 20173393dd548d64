import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { describe, test } from 'node:test';
import { AREAS, CATALOGUE, type CatalogueEntry, errorsPage } from '../../../src/errors/index.ts';

const page = readFileSync(new URL('../../../docs/errors.md', import.meta.url), 'utf8');
const listed = [...page.matchAll(/^### (SW-[A-Z]+-\d+)$/gm)].map((match) => match[1] ?? '');
const known = Object.keys(CATALOGUE);

describe('docs/errors.md', () => {
  test('lists every code of the catalogue', () => {
    assert.ok(known.length > 60, `only ${known.length} codes`);
    assert.deepEqual(
      known.filter((code) => !listed.includes(code)),
      [],
    );
  });

  test('lists no code that does not exist', () => {
    assert.deepEqual(
      listed.filter((code) => !known.includes(code)),
      [],
    );
    assert.equal(new Set(listed).size, listed.length);
  });

  test('is what the generator writes', () => {
    assert.equal(page, errorsPage());
  });
});

describe('catalogue', () => {
  test('codes carry the prefix of their area and stand in rising order', () => {
    for (const area of AREAS) {
      const codes = Object.keys(area.entries);
      for (const code of codes) assert.match(code, new RegExp(`^${area.prefix}-\\d{3}$`));
      assert.deepEqual(codes, codes.toSorted());
    }
    assert.equal(
      known.length,
      AREAS.reduce((sum, area) => sum + Object.keys(area.entries).length, 0),
    );
  });

  test('every entry is a whole sentence and says what to do', () => {
    for (const [code, entry] of Object.entries<CatalogueEntry>(CATALOGUE)) {
      assert.match(entry.template, /\.$/, code);
      assert.ok(entry.whatToDo === '{hint}' || entry.whatToDo.length > 10, code);
      assert.doesNotMatch(entry.template + entry.whatToDo, /—|\bplease note\b/i, code);
    }
  });
});
