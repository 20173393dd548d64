// The service over the demo tank: what its detectors learn from the store's minutes and the hub's history, and what of it
// reaches the parts, the command line and, after a restart, the next run.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { DEMO_NOW } from '../../src/sim/index.ts';
import { DAY_MS } from '../../src/units/index.ts';
import { runMain } from '../unit/cli/run-cli.ts';
import { demoService } from './demo-service.ts';

/** The return pump was last cleaned 190 days before the demo opens and draws 4 % more every 90 days. */
const CLEANED_DAYS_AGO = 190;

test('scale in the return pump is found from its watts since the last cleaning, and makes the part due', async () => {
  const demo = await demoService({ historyDays: 220 });
  try {
    const { app } = demo.service;
    await app.conditionLearned();
    const findings = app.condition();
    const scaled = findings.find(({ equipment }) => equipment === 'return-pump');
    assert.equal(scaled?.kind, 'pump-fouling');
    assert.deepEqual(scaled?.parts, ['return-wet-end']);
    // 8.4 % since the cleaning; the first days are what it is held against.
    assert.ok(Math.abs(scaled.value / (scaled.normal ?? 1) - 1.082) < 0.008, scaled.evidence);
    assert.ok(scaled.since > DEMO_NOW - CLEANED_DAYS_AGO * DAY_MS);
    // Nothing else is the matter with the demo tank.
    assert.deepEqual(
      findings.filter((one) => one !== scaled).map(({ kind, equipment, evidence }) => ({ kind, equipment, evidence })),
      [],
    );
    const standing = app.due().find(({ part }) => part === 'return-wet-end');
    assert.equal(standing?.found?.[0]?.kind, 'pump-fouling');
    assert.match(standing?.reason ?? '', /(seen|likely): Return pump: 4[0-9.]+ W after the last service/);
    for (const words of [['condition'], ['usage', '--why', 'return-wet-end']]) {
      const ran = await runMain([...words, '-c', demo.configFile]);
      assert.equal(ran.code, 0, ran.err);
      assert.match(ran.out.replaceAll(/\s+/g, ' '), /Return pump: 4[0-9.]+ W/);
    }
  } finally {
    await demo.stop();
  }
});
