import assert from 'node:assert/strict';
import { test } from 'node:test';
import { createConditionWatch } from '../../../src/app/condition.ts';
import { createLoop } from '../../../src/app/loop.ts';
import type { Tank } from '../../../src/model/index.ts';
import type { MinutePower, MinuteState } from '../../../src/observe/index.ts';
import type { HistoryRequest, HubReach, StorePort, System } from '../../../src/ports/index.ts';
import { DAY_MS, HOUR_MS, MINUTE_MS } from '../../../src/units/index.ts';

const NOW = Date.UTC(2026, 5, 1, 12);
const WATTS = 'sensor.return_power';

const tank = {
  volumeL: 450,
  equipment: [
    { id: 'return-pump', name: 'Return pump', role: 'return-pump', powerEntity: WATTS, switchEntity: 'switch.return' },
  ],
  parts: [],
  sensors: [{ kind: 'sump-level', entity: 'sensor.sump' }],
  counters: [],
} as unknown as Tank;

/** Sixty days of 48 W in the store, and a hub that tells how far back it can. */
function home(reach: () => Promise<HubReach>) {
  const asked: HistoryRequest[] = [];
  const settings = new Map<string, string>();
  const minutes = (from: number, to: number): MinutePower[] => {
    const all: MinutePower[] = [];
    for (let at = Math.max(from, NOW - 60 * DAY_MS); at < to; at += MINUTE_MS)
      all.push({ minute: at, minW: 47.9, meanW: 48, maxW: 48.1 } as MinutePower);
    return all;
  };
  const store = {
    setting: (key: string) => settings.get(key) ?? null,
    putSetting: (key: string, value: string) => void settings.set(key, value),
    minuteStates: () => new Map([[WATTS, {} as MinuteState]]),
    minutePower: (_: string, from: number, to: number) => minutes(from, to),
    sources: () => [],
  } as unknown as StorePort;
  const system = {
    clock: { now: () => NOW, monotonicMs: () => 0 },
    log: { info: () => {}, warn: (text: string) => warnings.push(text), error: assert.fail },
  } as unknown as System;
  const warnings: string[] = [];
  const hub = {
    reach,
    history: async function* (request: HistoryRequest) {
      asked.push(request);
      yield [];
    },
  };
  const loop = createLoop((name, error) => assert.fail(`${name}: ${String(error)}`));
  const watch = createConditionWatch({ tank, hub, store, system, loop, lives: () => new Map(), onChange: () => {} });
  return { watch, asked, warnings, settings };
}

const reachOf = (bridgeableMs: number | null) => async (): Promise<HubReach> => ({ bridgeableMs, hourly: [] });

test('a hub that keeps ten days is asked for ten days; the watts of the store are read all the same', async () => {
  const { watch, asked, settings } = home(reachOf(10 * DAY_MS));
  watch.caughtUp();
  await watch.settled();
  assert.equal(asked.length, 1);
  assert.equal(asked[0]?.from, NOW - 10 * DAY_MS - HOUR_MS);
  assert.equal(watch.dailyWatts('return-pump').length, 45);
  assert.equal(JSON.parse(settings.get('condition') ?? '{}').memory.takenTo, NOW);
});

test('a hub that has nothing is hardly asked, one that does not tell as far back as helps', async () => {
  const nothing = home(reachOf(null));
  nothing.watch.caughtUp();
  await nothing.watch.settled();
  assert.equal(nothing.asked[0]?.from, NOW - HOUR_MS);
  const silent = home(() => Promise.reject(new Error('no answer')));
  silent.watch.caughtUp();
  await silent.watch.settled();
  assert.equal(silent.asked[0]?.from, NOW - 45 * DAY_MS);
  assert.match(silent.warnings.join(), /did not tell/);
});

test('a link that ends while the past is read leaves off at once, and the next one goes on from there', async () => {
  const { watch, asked } = home(reachOf(10 * DAY_MS));
  watch.caughtUp();
  watch.link(false, NOW);
  await watch.settled();
  assert.equal(asked.length, 0);
  watch.caughtUp();
  await watch.settled();
  assert.equal(watch.dailyWatts('return-pump').length, 45);
});
