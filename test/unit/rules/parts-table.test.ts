// The table of wear parts, row by row: default limits, the minutes a person needs, the figures its words must hold, and where
// each comes from. Figures marked CP are common practice with no source, MEM from memory; S names a published page.
import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import type { Measure } from '../../../src/model/index.ts';
import { COMMON_PRACTICE, FROM_MEMORY, PARTS, type PartFacts, SOURCES } from '../../../src/rules/index.ts';
import { DAY_MS, MONTH_MS, YEAR_MS } from '../../../src/units/index.ts';

const CP = COMMON_PRACTICE;
const MEM = FROM_MEMORY;
const S = SOURCES;
const months = (count: number) => Math.round((count * MONTH_MS) / DAY_MS);
const years = (count: number) => Math.round((count * YEAR_MS) / DAY_MS);

type Limits = Partial<Record<Measure, number>>;
type Row = readonly [id: string, limits: Limits, minutes: number, says: readonly RegExp[], marks: readonly string[]];

const ROWS: readonly Row[] = [
  [
    'sediment-cartridge',
    { litres: 10_000, days: months(6) },
    15,
    [/3-12 months/, /5-20 m³/, /0\.7 bar/],
    [S.roCartridges],
  ],
  ['carbon-block', { litres: 15_000, days: months(9) }, 15, [/7,500-75,000 L/, /0\.05-0\.1 mg\/L/], [S.roCartridges]],
  ['ro-membrane', { days: years(3) }, 30, [/2-5 years/, /rejection under 95 %/, /down by 20 %/, /60 min/], [CP]],
  ['di-resin', { days: months(12) }, 15, [/8-23 g/, /12 g/, /reads 1 mg\/L/], [S.resinGrains, CP]],
  ['booster-pump', { 'on-hours': 4_000 }, 30, [/2,000-8,000 h/], [MEM]],
  ['inlet-solenoid', { days: years(4) }, 20, [/3-6 years/, /flow with the command off/], [CP]],
  ['ro-shut-off', { days: years(3) }, 20, [/2-4 years/, /5 min/], [CP]],
  ['ro-tubing', { days: years(4) }, 20, [/2-5 years/, /grease/], [CP]],
  ['water-meters', { days: months(12) }, 10, [/6-12 months/, /2 mg\/L or 5 %/], [CP]],
  ['mixing-pump', { days: months(6) }, 20, [/6-12 months/], [CP]],
  ['return-pump-wet-end', { days: months(4) }, 60, [/3-6 months/, /18-36 months, 24/, /8 %/], [S.pumpScale, CP]],
  [
    'circulation-wet-end',
    { days: months(3) },
    20,
    [/1-4 months/, /18-36 months, 24/, /10 %/, /30 min in 1 part vinegar and 2 parts water/],
    [S.vinegarSoak, S.pumpScale],
  ],
  ['skimmer-neck-cup', { days: 5 }, 5, [/3-7 days/, /3 mm/], [S.skimmerCup]],
  ['skimmer-body', { days: months(6) }, 60, [/3-6 months/, /air line monthly/, /8 %/], [S.skimmerAir, S.skimmerClean]],
  ['heater', { days: months(24), starts: 50_000 }, 75, [/18-48 months/], [CP]],
  ['plug-relay', { starts: 50_000 }, 10, [/20,000-100,000/, /10,000 for lamp drivers/], [S.inrush, MEM]],
  [
    'fluorescent-tubes',
    { 'on-hours': 3_600, days: months(12) },
    45,
    [/2,400-4,500 lit hours/, /8-12 months/, /25 %/],
    [S.lampChange, S.lampChangeShort, S.coralLighting],
  ],
  [
    'led-lamp',
    { 'on-hours': 25_000, days: months(3) },
    20,
    [/25,000-50,000 h to 70 %/, /clean every 3 months/],
    [S.ledLife],
  ],
  ['lamp-fan', { days: months(24), 'on-hours': 20_000 }, 20, [/20,000-40,000 h/], [MEM]],
  ['uv-lamp', { 'on-hours': 8_000, days: months(12) }, 20, [/4,000-9,000 lit hours/, /6 months/], [S.uvLampLife, CP]],
  ['uv-sleeve', { days: months(6) }, 40, [/2-12 months/, /O-ring 12/], [CP]],
  ['algae-harvest', { days: 10 }, 20, [/7-14 days/, /a quarter or half/], [S.algaeHarvest]],
  ['algae-lamp', { 'on-hours': 15_000, days: months(1) }, 10, [/15,000-40,000 h/, /monthly/], [CP]],
  ['activated-carbon', { days: 28 }, 20, [/2-6 weeks/], [S.mediaCarbon]],
  ['phosphate-binder', { days: 42 }, 20, [/4-12 weeks/, /0\.03 mg\/L/, /half the dose first/], [CP]],
  ['calcium-media', { days: months(12) }, 60, [/6-18 months/, /by weight/], [CP]],
  ['limewater-powder', { days: 14 }, 15, [/1-4 weeks/, /1\.5 g a litre/], [S.limewater, CP]],
  ['doser-tube', { 'on-hours': 350, days: months(9) }, 20, [/200-1,000 roller hours/, /3 months/, /5 %/], [CP]],
  [
    'top-off-floats',
    { days: months(12) },
    30,
    [/1-3 months/, /12-60 months/, /two-way test/],
    [S.floatLife, S.floatJams],
  ],
  ['top-off-pump', { days: months(30) }, 20, [/2-4 years/, /every 6 months/], [CP]],
  ['siphon-break-hole', { days: months(1) }, 2, [/30-90 days/, /20 %/], [S.siphonBreak]],
  ['check-valve', { days: months(6) }, 30, [/every 6 months/, /every 24/], [CP]],
  ['weir-strainers', { days: 14 }, 5, [/7-30 days/], [S.strips]],
  ['filter-sock', { days: 4 }, 5, [/3-7 days/], [CP]],
  ['ph-electrode', { days: months(18) }, 20, [/12-24 months/, /monthly/, /88 %/], [S.phElectrode, CP]],
  ['salinity-probe', { days: months(3) }, 10, [/monthly/, /every 3 months/, /3-5 years/], [CP]],
  ['temperature-probe', { days: months(3) }, 5, [/every 3 months/, /0\.5 °C/], [CP]],
  ['air-pump-diaphragm', { days: months(18) }, 10, [/1-3 years/], [S.airPumpLife]],
  ['chiller-service', { days: months(1) }, 20, [/every 3 months/, /monthly/, /every 6 months/], [S.chiller]],
  ['backup-battery', { days: years(3) }, 15, [/3-5 years/, /8 °C over 25 °C/, /80 %/], [S.batteryLife]],
  ['rcd-leak-sensors', { days: months(1) }, 5, [/1-3 months/, /3 by default/, /local rule first/, /monthly/], [S.rcd]],
  ['hoses-unions', { days: months(6) }, 20, [/every 6 months/, /3-5 years/], [S.hoseOff]],
];

const words = (part: PartFacts): string =>
  [part.range, part.alsoDueWhen, part.earlySign, part.action, part.ifLate]
    .filter((text) => text !== undefined)
    .join('\n');

describe('the table of wear parts', () => {
  test('has its 42 rows, and no other', () => {
    assert.equal(ROWS.length, 42);
    assert.deepEqual(Object.keys(PARTS).sort(), ROWS.map(([id]) => id).sort());
  });

  for (const [index, [id, limits, minutes, says, marks]] of ROWS.entries())
    test(`row ${index + 1}, ${id}: limits, minutes, figures and marks`, () => {
      const part = PARTS[id];
      assert.ok(part !== undefined);
      assert.deepEqual(Object.fromEntries(part.limits.map(({ measure, amount }) => [measure, amount])), limits);
      assert.equal(part.minutes, minutes);
      for (const figure of says) assert.match(words(part), figure);
      assert.deepEqual([...part.marks].sort(), [...marks].sort());
      assert.ok(part.spare.length > 2 && part.ifLate.length > 2);
    });
});
