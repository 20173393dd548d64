// On a real hub: lamp hours counted from the hub's entities, by the plug's word and by its watts, are to the millisecond
// those that the hub's own history of the same entity gives; also where the service was away for half of it.
import assert from 'node:assert/strict';
import { after, before, describe, test } from 'node:test';
import { isDeepStrictEqual } from 'node:util';
import type { PartUsage } from '../../src/app/index.ts';
import {
  callService,
  eventually,
  getStates,
  type HistoryRow,
  historyOf,
  setPlugWatts,
  waitForState,
} from '../support/index.ts';
import { type RealHome, startRealHome } from './real-home.ts';
import { WATTS } from './real-tank.ts';

const HOUR_MS = 3_600_000;
const SWITCH = 'switch.lamp_bank';
const POWER = 'sensor.lamp_bank_power';

type Counted = { readonly onMs: number; readonly starts: number };

/** Rows are dated to the microsecond, the service counts in whole milliseconds. */
const wholeMs = (atMs: number): number => Math.floor(Math.round(atMs * 1000) / 1000);

/**
 * Time on and off→on edges in the hub's own rows, worked out here without the product. `isOn` gives null where a row
 * changes nothing.
 */
function fromHistory(rows: readonly HistoryRow[], isOn: (state: string) => boolean | null): Counted {
  let onSince: number | null = null;
  let known = false;
  let onMs = 0;
  let starts = 0;
  for (const { state, atMs } of rows) {
    const on = isOn(state);
    if (on === null) continue;
    if (on && onSince === null) {
      onSince = wholeMs(atMs);
      if (known) starts += 1;
    }
    if (!on && onSince !== null) {
      onMs += wholeMs(atMs) - onSince;
      onSince = null;
    }
    known = true;
  }
  assert.equal(onSince, null, 'the lamp is off at the end');
  return { onMs, starts };
}

const byState = (state: string): boolean | null => (state === 'on' ? true : state === 'off' ? false : null);
/** As configured: on above 40 W, off below 10 W, unchanged between. */
const byWatts = (state: string): boolean | null => (Number(state) > 40 ? true : Number(state) < 10 ? false : null);

describe('lamp hours on a real hub', () => {
  let home: RealHome;

  before(async () => {
    home = await startRealHome();
    // An off that a waking hub shows for seconds only is not taken for one; the lamp has been off for longer than that.
    const owner = await home.owner();
    await eventually('the lamp to have been off for ten seconds', async () => {
      const states = await getStates(owner);
      const since = [SWITCH, POWER].map((entity) => Date.parse(states.get(entity)?.last_changed ?? ''));
      return since.every((at) => Date.now() - at > 10_500);
    });
  });
  after(() => home?.dispose());

  const usageOf = (part: string): PartUsage => {
    const found = home
      .service()
      .app.usage()
      .find((usage) => usage.part === part);
    assert.ok(found);
    return found;
  };

  /** What the service counted, and that it leaves no doubt about it. */
  const counted = (part: string): Counted => {
    const { measures } = usageOf(part);
    const amount = (wanted: string): number => {
      const found = measures.find(({ measure }) => measure === wanted);
      assert.ok(found);
      assert.deepEqual([found.low, found.high], [found.best, found.best], `${part} ${wanted} is known exactly`);
      return found.best;
    };
    const onMs = amount('on-hours') * HOUR_MS;
    assert.ok(Math.abs(onMs - Math.round(onMs)) < 1e-4, 'a whole number of milliseconds');
    return { onMs: Math.round(onMs), starts: amount('starts') };
  };

  const truth = async (): Promise<{ readonly relay: Counted; readonly watts: Counted }> => {
    const now = Date.now();
    const rows = await historyOf(await home.owner(), [SWITCH, POWER], now - HOUR_MS, now + HOUR_MS);
    return {
      relay: fromHistory(rows.get(SWITCH) ?? [], byState),
      watts: fromHistory(rows.get(POWER) ?? [], byWatts),
    };
  };

  const turn = async (to: 'on' | 'off'): Promise<void> => {
    const owner = await home.owner();
    await callService(owner, `switch.turn_${to}`, SWITCH);
    await waitForState(owner, SWITCH, to);
    await waitForState(owner, POWER, ({ state }) => (to === 'on' ? Number(state) > 0 : Number(state) === 0));
  };

  const flash = async (times: number): Promise<void> => {
    for (let n = 0; n < times; n += 1) {
      await turn('on');
      await turn('off');
    }
  };

  /** Waits until the hub's recorder has written all starts; then the service must be equal to it in everything. */
  const agree = async (atLeastStarts: number): Promise<void> => {
    const expected = await eventually('the hub to have written everything', async () => {
      const found = await truth();
      return found.relay.starts >= atLeastStarts && found.watts.starts >= atLeastStarts ? found : undefined;
    });
    // The lamp is off, so what the service has once heard of stands still.
    await eventually('the service to have heard of everything', () =>
      isDeepStrictEqual([counted('lamp-relay'), counted('lamp-tubes')], [expected.relay, expected.watts]),
    ).catch(() => undefined);
    assert.equal(expected.relay.starts, atLeastStarts);
    assert.deepEqual(counted('lamp-relay'), expected.relay);
    assert.deepEqual(counted('lamp-tubes'), expected.watts);
    assert.ok(expected.relay.onMs > 0);
  };

  test('switched on and off forty times, the count is the hub’s history to the millisecond', async () => {
    await flash(40);
    await agree(40);
  });

  test('watts between the two thresholds neither start nor end anything', async () => {
    const owner = await home.owner();
    await turn('on');
    for (const watts of [30, 12, 39.9, 50, 15, WATTS.lamp_bank]) {
      await setPlugWatts(owner, 'lamp_bank', watts);
      await waitForState(owner, POWER, ({ state }) => Number(state) === watts);
    }
    await turn('off');
    await agree(41);
  });

  test('what happened while the service was away is counted from the hub’s history, once', async () => {
    await home.stopService();
    await flash(10);
    await home.startService();
    await agree(51);
    const why = home
      .service()
      .app.why('lamp-tubes')
      .find(({ measure }) => measure === 'on-hours');
    const origins = new Set(why?.rows.filter(({ high }) => high > 0).map(({ origin }) => origin));
    assert.deepEqual([...origins].toSorted(), ['history', 'live']);
  });

  test('stopped in the middle of a lit stretch and started in another, it is still equal', async () => {
    await turn('on');
    await home.stopService();
    await turn('off');
    await turn('on');
    await home.startService();
    await turn('off');
    await agree(53);
    await flash(5);
    await agree(58);
  });

  test('the hub shows the same figures with their unit', async () => {
    const owner = await home.owner();
    const hours = counted('lamp-tubes').onMs / HOUR_MS;
    const shown = await waitForState(owner, 'sensor.slackwater_lamp_tubes_on_hours', ({ attributes }) => {
      return Math.abs(Number(attributes['high']) - hours) < 1e-6;
    });
    assert.equal(shown.attributes['unit_of_measurement'], 'h');
    assert.equal(shown.attributes['low'], shown.attributes['high']);
    const starts = await waitForState(owner, 'sensor.slackwater_lamp_relay_starts', '58');
    assert.match(String(starts.attributes['with_bounds']), /58/);
  });
});
