import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { INVARIANTS } from '../checker/index.ts';
import { explore } from './explore.ts';
import { findPlanted, PLANTED } from './planted.ts';
import { loadProduct, OWN_SOURCE } from './product.ts';

const product = await loadProduct(OWN_SOURCE);

const said = (findings: readonly { readonly what: string; readonly path: readonly string[] }[]): string[] =>
  findings.map(({ what, path }) => `${what}\n  by ${path.join(' ')}`);

describe('every way a session on the small tank can go', () => {
  test('nothing goes wrong: there is one way, and it completes', () => {
    const outcome = explore(product, { procedure: 'pump-pause', faults: 0, wrongs: 0 });
    assert.deepEqual(said(outcome.findings), []);
    assert.deepEqual(outcome.ended, { complete: 1 });
  });

  for (const procedure of ['pump-pause', 'skimmer-service']) {
    test(`${procedure}: a person is wrong or silent once, anywhere`, (t) => {
      const outcome = explore(product, { procedure, faults: 0, wrongs: 1 });
      t.diagnostic(`states visited ${outcome.states}, transitions ${outcome.transitions}`);
      assert.deepEqual(said(outcome.findings), []);
      assert.ok(outcome.states > 70 && (outcome.ended['complete'] ?? 0) > 0);
    });
  }

  test('a plan that forgets the plug-in never gets claimed equipment energised', () => {
    const outcome = explore(product, { procedure: 'skimmer-service', faults: 0, wrongs: 0, without: 'plug-in' });
    assert.deepEqual(said(outcome.findings), []);
    assert.equal(outcome.ended['complete'], undefined);
    assert.ok((outcome.ended['aborted'] ?? 0) > 0);
  });

  test('pump-pause: one fault, anywhere', (t) => {
    const outcome = explore(product, { procedure: 'pump-pause', faults: 1, wrongs: 0 });
    t.diagnostic(`states visited ${outcome.states}, transitions ${outcome.transitions}`);
    assert.deepEqual(said(outcome.findings), []);
    assert.ok(outcome.states > 2_000, 'the faults were tried');
    // A pause has no claims; aborts come where a person gives up after mending in vain.
    for (const invariant of INVARIANTS.filter((each) => each !== 'I2'))
      assert.ok(outcome.armed[invariant] > 0, `${invariant} was never armed`);
  });
});

describe('planted faults are found', () => {
  for (const planted of PLANTED)
    test(`${planted.id} breaks ${planted.breaks}`, async () => {
      const findings = await findPlanted(planted);
      assert.ok(
        findings.some(({ what }) => what.startsWith(`${planted.breaks}:`)),
        `found: ${said(findings).join('\n') || 'nothing'}`,
      );
    });
});
