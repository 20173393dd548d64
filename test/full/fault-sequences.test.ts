// Forty scripted faults through the real hub's own helpers and through the service, side by side with the script's truth.
import assert from 'node:assert/strict';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, describe, test } from 'node:test';
import { startRealHub } from '../support/index.ts';
import { homeOptions } from './fault-sequences-home.ts';
import { hubSequences, PHASES } from './fault-sequences-hub-wide.ts';
import { meterSequences } from './fault-sequences-meters.ts';
import { page, table } from './fault-sequences-page.ts';
import { createRig, type Outcome, type Rig, runPhase } from './fault-sequences-run.ts';
import { switchSequences } from './fault-sequences-switches.ts';

const PAGE = new URL('../../docs/fault-sequences.md', import.meta.url);
const SEQUENCES = [...switchSequences, ...meterSequences, ...hubSequences];

describe('fault sequences on the real hub', () => {
  let rig: Rig;
  let folder: string;
  const outcomes: Outcome[] = [];

  before(async () => {
    folder = await mkdtemp(join(tmpdir(), 'slackwater-faults-'));
    process.env['PYTHONTZPATH'] = join(folder, 'zones');
    rig = await createRig(await startRealHub(homeOptions(SEQUENCES)), SEQUENCES, folder);
    await rig.service.start();
  });
  after(async () => {
    if (rig?.service.running()) await rig.service.kill();
    await rig?.real.dispose();
    delete process.env['PYTHONTZPATH'];
    await rm(folder, { recursive: true, force: true });
  });

  for (const phase of PHASES) {
    test(`${phase.title}: the truth lies within our bounds`, async (t) => {
      const found = await runPhase(rig, phase);
      outcomes.push(...found);
      for (const text of table(found).split('\n')) t.diagnostic(text);
      for (const { sequence, measure, truth, slack, ours } of found) {
        const what = `${sequence.id} ${sequence.title}, ${measure}: ${JSON.stringify({ truth, slack, ours })}`;
        assert.ok(ours.low <= truth.high + slack, `low is above the truth: ${what}`);
        assert.ok(ours.high >= truth.low - slack, `high is below the truth: ${what}`);
        if (!sequence.exact) continue;
        assert.ok(ours.best <= truth.high + slack && ours.best >= truth.low - slack, `best is not the truth: ${what}`);
      }
    });
  }

  test('the page is written from this run', async () => {
    assert.equal(new Set(outcomes.map(({ sequence }) => sequence.id)).size, SEQUENCES.length);
    if (process.env['SLACKWATER_WRITE_DOCS'] === '1') await writeFile(PAGE, page(outcomes, PHASES));
  });
});
