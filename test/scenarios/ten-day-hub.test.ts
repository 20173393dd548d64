import assert from 'node:assert/strict';
import { before, describe, test } from 'node:test';
import { type TenDayRow, type TenDayRun, tenDayRun, tenDayTable } from '../full/ten-day-past.ts';

// Half a year in place of the eighteen months that `node test/full/ten-day-hub.ts` prints; the same plan of mishaps.
const DAYS = 190;

describe('the demo tank through a hub that keeps ten days', () => {
  let run: TenDayRun;
  const row = (name: string): TenDayRow => {
    const found = run.rows.find((one) => one.name === name);
    assert.ok(found, name);
    return found;
  };
  before(async () => {
    run = await tenDayRun(DAYS);
  });

  test('absences shorter and longer than ten days, restarts of the service and of the hub all happened', () => {
    const away = run.absences.filter(({ what }) => what === 'service away').map(({ days }) => days);
    const down = run.absences.filter(({ what }) => what === 'hub down').map(({ days }) => days);
    assert.ok(away.filter((days) => days < 0.01).length >= 10);
    assert.ok(away.some((days) => days === 8));
    assert.ok(away.some((days) => days === 13) && away.some((days) => days === 26));
    assert.ok(down.some((days) => days < 0.01) && down.some((days) => days > 0.25));
  });

  test('the simulator’s truth lies within the bounds of every count', () => {
    assert.deepEqual(
      run.rows.filter(({ truthInside }) => truthInside === 'NO'),
      [],
      tenDayTable(run),
    );
  });

  test('lamp hours are known to a few hundredths, although the hub forgot 19 days of them', () => {
    for (const name of ['Lamp bank 1, lit', 'Lamp bank 2, lit', 'UV lamp, lit']) {
      const { truth, width, errorPercent } = row(name);
      assert.ok(width < 0.05 * truth, `${name}: ${width} h of ${truth} h open`);
      assert.ok(Math.abs(errorPercent) < 0.5, `${name}: best is off by ${errorPercent} %`);
    }
  });

  test('litres and what the resin took up come through whole: their hours are kept for good', () => {
    const litres = row('RO water made');
    assert.ok(litres.width <= 0.2 && Math.abs(litres.ours.best - litres.truth) <= 0.2, JSON.stringify(litres));
    const grams = row('Solids taken up by the resin');
    assert.ok(grams.width < 0.05 * grams.truth, JSON.stringify(grams));
    assert.ok(Math.abs(grams.errorPercent) < 2, JSON.stringify(grams));
  });

  test('what only the history knew is left open where it is gone, not made up', () => {
    const heater = row('Heater 2, on');
    const open = run.absences.filter(({ days }) => days > 10).reduce((sum, { days }) => sum + (days - 10) * 24, 0);
    assert.ok(open > 0 && heater.width >= 0.8 * open, `${heater.width} h open of ${open} h unseen`);
    assert.ok(heater.width <= open + 7 * 24, `${heater.width} h open of ${open} h unseen`);
  });
});
