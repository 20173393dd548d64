// Whether a hub restarted while no service ran is told from when the hub was last seen.
import assert from 'node:assert/strict';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { test } from 'node:test';
import { openStore } from '../../../src/io/store/index.ts';
import { keptLog } from '../../../src/io/system/index.ts';
import { keeperHome, observed, T0 } from './keeper-home.ts';

const YAML = `tank: { name: Bench, zone: UTC, volume: 200 L }
hub: { url: http://hub, token: { env: T } }
equipment: { pump: { role: return-pump, driver: always-on, switch: switch.pump } }
counters: { pump-on: { onState: { entity: switch.pump } } }
parts:
  wet-end: { kind: return-pump-wet-end, equipment: pump, fitted: 2026-01-09, limits: { on-hours: 9000 h }, counts: { on-hours: pump-on } }
people: { ana: { name: Ana } }
`;

test('a service killed in its first minute leaves behind when it last saw the hub', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'slackwater-seen-'));
  try {
    const home = await keeperHome(YAML, { rows: [observed('switch.pump', T0 - 1_000, 1)], folder });
    await home.app.settled();
    const store = openStore(join(folder, 'store.db'), {
      clock: home.system.clock,
      log: keptLog(),
      readOnly: true,
    });
    assert.equal(store.setting('hub last seen'), String(home.system.clock.now()));
    store.close();
    await home.stop();
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
});
