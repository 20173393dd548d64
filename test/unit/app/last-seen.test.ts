// Whether a hub restarted while no service ran is told from when the hub was last seen.
import assert from 'node:assert/strict';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { test } from 'node:test';
import { problem } from '../../../src/errors/index.ts';
import { openStore } from '../../../src/io/store/index.ts';
import { keptLog } from '../../../src/io/system/index.ts';
import type { Clock } from '../../../src/ports/index.ts';
import { keeperHome, observed, T0 } from './keeper-home.ts';

const YAML = `tank: { name: Bench, zone: UTC, volume: 200 L }
hub: { url: http://hub, token: { env: T } }
equipment: { pump: { role: return-pump, driver: always-on, switch: switch.pump } }
counters: { pump-on: { onState: { entity: switch.pump } } }
parts:
  wet-end: { kind: return-pump-wet-end, equipment: pump, fitted: 2026-01-09, limits: { on-hours: 9000 h }, counts: { on-hours: pump-on } }
people: { ana: { name: Ana } }
`;

const settingsIn = (folder: string, home: { readonly system: { readonly clock: Clock } }) => {
  const store = openStore(join(folder, 'store.db'), { clock: home.system.clock, log: keptLog(), readOnly: true });
  const found = { heard: store.setting('hub last seen'), watched: store.setting('watched until') };
  store.close();
  return found;
};

test('a service killed while it still reads what a restart of the hub hid leaves no mark, so that the next one is told again', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'slackwater-seen-'));
  try {
    const rows = [observed('switch.pump', T0 - 1_000, 1)];
    const first = await keeperHome(YAML, { rows, folder });
    const watched = settingsIn(folder, first).watched;
    await first.app.stop();
    first.system.advance(60_000);
    let marks = 0;
    const asked = Promise.withResolvers<void>();
    const never = Promise.withResolvers<never>();
    const second = await keeperHome(YAML, {
      folder,
      system: first.system,
      hub: {
        leaveMark: async () => {
          marks += 1;
        },
        async *history() {
          asked.resolve();
          yield await never.promise;
        },
      },
    });
    await asked.promise;
    const left = settingsIn(folder, second);
    assert.equal(left.heard, String(T0 + 60_000), 'the hub was heard');
    assert.equal(left.watched, watched, 'but nothing after the end of the first run was counted');
    assert.equal(marks, 0);
    await second.stop();
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
});

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

test('a store found damaged while it runs is told to people, not only to the log', async () => {
  const told: string[] = [];
  const home = await keeperHome(YAML, {
    rows: [observed('switch.pump', T0 - 1_000, 1)],
    hub: {
      tell: async ({ message }) => {
        told.push(message);
      },
    },
  });
  await home.app.settled();
  home.app.storeDamaged(problem('SW-STORE-005', { file: 'store.db', detail: 'page 12' }));
  await home.app.settled();
  assert.match(told.at(-1) ?? '', /store\.db/);
  assert.match(told.at(-1) ?? '', /page 12/);
  await home.stop();
});
