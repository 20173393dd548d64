import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { createCounting } from '../../src/app/counting.ts';
import { createLoop } from '../../src/app/loop.ts';
import { createHub } from '../../src/io/hub/index.ts';
import { openStore } from '../../src/io/store/index.ts';
import { keptLog, realSystem } from '../../src/io/system/index.ts';
import type { CounterDef } from '../../src/model/index.ts';
import type { System } from '../../src/ports/index.ts';
import { DAY_MS, HOUR_MS, MINUTE_MS } from '../../src/units/index.ts';
import { startRealHub } from '../support/real-hub.ts';

export type BackfillFigures = {
  readonly backfillRows: number;
  readonly backfillWallMs: number;
  /** Processor time of ours (edge, fold, store) against the wall time; the rest is waited for the hub. */
  readonly backfillOurShare: number;
  readonly backfillRowsPerS: number;
  /** On-hours and starts that were counted, against what was written. */
  readonly backfillCountedShare: number;
};

const ENTITIES = 20;
const DAYS = 365;
/** A plug that says its watts every ten minutes. */
const EVERY_MS = 10 * MINUTE_MS;
const LIT_FROM_H = 9;
const LIT_HOURS = 9;

const entityOf = (index: number): string => `sensor.bench_plug_${String(index).padStart(2, '0')}_power`;

const defs: readonly CounterDef[] = Array.from({ length: ENTITIES }, (_, index) => ({
  id: `bench-${index}`,
  name: `Bench ${index}`,
  source: {
    kind: 'power-threshold',
    entity: entityOf(index),
    onAboveW: 60,
    offBelowW: 20,
    minOnMs: 30_000,
    minOffMs: 30_000,
  },
  measures: ['on-hours', 'starts'],
}));

/** Writes a year of every plug straight into the recorder's file, as the recorder would have. */
function fillRecorder(file: string, to: number): { readonly rows: number; readonly onHours: number } {
  const db = new DatabaseSync(file);
  const attributes = {
    state_class: 'measurement',
    unit_of_measurement: 'W',
    device_class: 'power',
    friendly_name: 'Plug power',
  };
  const attributesId = Number(
    db.prepare('INSERT INTO state_attributes (hash, shared_attrs) VALUES (?, ?)').run(1, JSON.stringify(attributes))
      .lastInsertRowid,
  );
  const insert = db.prepare(
    'INSERT INTO states (state, last_updated_ts, attributes_id, origin_idx, metadata_id) VALUES (?, ?, ?, 0, ?)',
  );
  const from = Math.floor((to - DAYS * DAY_MS) / EVERY_MS) * EVERY_MS;
  let [rows, onMs] = [0, 0];
  db.exec('BEGIN');
  for (let index = 0; index < ENTITIES; index += 1) {
    const metadataId = db
      .prepare('INSERT INTO states_meta (entity_id) VALUES (?)')
      .run(entityOf(index)).lastInsertRowid;
    for (let at = from; at < to - MINUTE_MS; at += EVERY_MS) {
      const hour = ((at + index * HOUR_MS) % DAY_MS) / HOUR_MS;
      const isLit = hour >= LIT_FROM_H && hour < LIT_FROM_H + LIT_HOURS;
      // Never twice the same, since the hub keeps no row for that.
      const watts = (isLit ? 171 : 0.2) + (rows % 9) / 10;
      insert.run(watts.toFixed(1), at / 1000 + index / 1000, attributesId, metadataId);
      rows += 1;
      if (isLit) onMs += Math.min(EVERY_MS, to - at);
    }
  }
  db.exec('COMMIT');
  db.close();
  return { rows, onHours: onMs / HOUR_MS };
}

/** One year of twenty plugs from a real hub's history into counters on disk, as at a first start of the service. */
export async function benchBackfill(): Promise<BackfillFigures> {
  const hub = await startRealHub({ purgeKeepDays: 400 });
  const dir = mkdtempSync(join(tmpdir(), 'slackwater-backfill-'));
  try {
    await hub.stop();
    // The plugs are in the recorder alone, which the log would say of each.
    const system = { ...realSystem({ background: true }), log: keptLog() };
    const to = system.clock.now();
    const written = fillRecorder(join(hub.dir, 'home-assistant_v2.db'), to);
    await hub.start();
    const { wallMs, cpuMs, onHours } = await readBack(hub, join(dir, 'slackwater.db'), to, system);
    return {
      backfillRows: written.rows,
      backfillWallMs: wallMs,
      backfillOurShare: cpuMs / wallMs,
      backfillRowsPerS: (written.rows / wallMs) * 1000,
      backfillCountedShare: onHours / written.onHours,
    };
  } finally {
    await hub.dispose();
    rmSync(dir, { recursive: true, force: true });
  }
}

async function readBack(
  hub: { readonly url: string; readonly token: string },
  storeFile: string,
  to: number,
  system: System,
): Promise<{ readonly wallMs: number; readonly cpuMs: number; readonly onHours: number }> {
  const store = openStore(storeFile, system);
  const fault = Promise.withResolvers<never>();
  const loop = createLoop((name, error) => fault.reject(new Error(`${name}: ${String(error)}`)));
  const observe = defs.map(({ source }) => source.entity);
  const edge = createHub({
    url: hub.url,
    token: hub.token,
    prefix: 'bench',
    entities: { observe, readings: [], commandable: [], drivers: [] },
    system,
    settleMs: 0,
  });
  const from = to - DAYS * DAY_MS - HOUR_MS;
  const counting = createCounting({
    defs,
    hub: edge,
    store,
    system,
    loop,
    historyFrom: from,
    heardAt: null,
    watchedUntil: null,
    onCounted: () => {},
    onCaughtUp: () => {},
  });
  const began = performance.now();
  const cpuBefore = process.cpuUsage();
  await edge.start({
    onObservations: (batch) => loop.enqueue('observations', () => counting.take(batch)),
    onReadings: () => {},
    onPress: () => {},
    onChange: () => {},
    onLink: (link) => loop.enqueue('link', () => (link.up ? counting.linkUp(link) : counting.linkDown(link.at))),
    onRefused: () => {},
  });
  await loop.idle();
  await Promise.race([counting.whenLive(), fault.promise]);
  const wallMs = performance.now() - began;
  const { user, system: kernel } = process.cpuUsage(cpuBefore);
  const { counters } = counting.sources(to);
  const onHours = [...counters.values()].reduce((sum, { folded }) => sum + (folded.amounts['on-hours']?.best ?? 0), 0);
  await edge.stop();
  counting.stop();
  loop.stop();
  store.close();
  return { wallMs, cpuMs: (user + kernel) / 1000, onHours };
}

if (import.meta.main) {
  for (const [name, value] of Object.entries(await benchBackfill()))
    process.stdout.write(`${name.padEnd(24)} ${value}\n`);
  process.exit(0);
}
