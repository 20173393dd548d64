import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  absoluteSalinity,
  afterBatches,
  afterFlow,
  alkalinityStep,
  batchesFor,
  batchShare,
  brineToAddL,
  cartridgeLeft,
  concentrateMgL,
  densityKgM3,
  flowAgainstRise,
  flowFor,
  freshToAddL,
  hoursToMake,
  learnFlow,
  learnMixGPerL,
  mixed,
  mixForBatchG,
  mixToRaiseG,
  normalisedFlow,
  normalisedFlowBand,
  oneBatchFor,
  permeateMgL,
  pureDensityKgM3,
  pureSaltG,
  pureSaltToRaiseG,
  rejection,
  resinLeft,
  resinLitres,
  salinityAfterEvaporation,
  salinityAfterFresh,
  salinityAfterSaltLoss,
  saltGPerL,
  steadyBatches,
  steadyFlow,
  swapL,
  takenUpG,
  temperatureStep,
} from '../../../src/water/index.ts';
import { between, holds, volumes } from './draw.ts';

const near = (found: number, wanted: number, off: number, what: string): void =>
  assert.ok(Math.abs(found - wanted) <= off, `${what}: ${found} is not ${wanted}`);
const shares = between(0.01, 0.9);
const amounts = between(0, 200);

describe('salt is neither made nor lost', () => {
  test('the mix added to a weak batch brings it to its target', (t) => {
    holds(
      t,
      fc.property(
        volumes,
        between(5, 33),
        between(33.5, 40),
        between(12, 30),
        (volumeL, salinityPpt, targetPpt, temperatureC) => {
          const added = pureSaltToRaiseG({ volumeL, salinityPpt, targetPpt, temperatureC });
          const total = volumeL * densityKgM3({ salinityPpt, temperatureC });
          const after = (1000 * ((total * absoluteSalinity(salinityPpt)) / 1000 + added)) / (total + added);
          near(after, absoluteSalinity(targetPpt), 1e-9, 'g/kg');
          const mix = mixToRaiseG({ volumeL, salinityPpt, targetPpt, temperatureC });
          assert.ok(mix.low <= mix.value && mix.value <= mix.high && added <= mix.low * 1.001);
        },
      ),
    );
  });

  test('what evaporated and came back as fresh water leaves the salinity as it was', (t) => {
    holds(
      t,
      fc.property(
        volumes,
        between(20, 36),
        between(18, 30),
        between(0.001, 0.05),
        (volumeL, salinityPpt, temperatureC, part) => {
          const gone = volumeL * part;
          const after = salinityAfterEvaporation({ volumeL, salinityPpt, temperatureC }, gone);
          assert.ok(after > salinityPpt);
          const mass = volumeL * densityKgM3({ salinityPpt, temperatureC }) - gone * pureDensityKgM3(temperatureC);
          const left = mass / densityKgM3({ salinityPpt: after, temperatureC });
          near(salinityAfterFresh({ volumeL: left, salinityPpt: after, temperatureC }, gone), salinityPpt, 1e-9, 'ppt');
        },
      ),
    );
  });

  test('exchanging water, adding brine or adding fresh water ends at the target by volume', (t) => {
    holds(
      t,
      fc.property(volumes, between(30, 34), between(34.5, 36), between(40, 100), (volumeL, now, target, brine) => {
        const swapped = swapL(volumeL, now, brine, target);
        near(
          mixed([
            [volumeL - swapped, now],
            [swapped, brine],
          ]),
          target,
          1e-9,
          'exchanged',
        );
        near(
          mixed([
            [volumeL, now],
            [brineToAddL(volumeL, now, brine, target), brine],
          ]),
          target,
          1e-9,
          'added',
        );
        const fresh = freshToAddL({ volumeL, salinityPpt: target, targetPpt: now, temperatureC: 25 });
        near(
          mixed([
            [volumeL, target],
            [fresh, 0],
          ]),
          now,
          1e-9,
          'thinned',
        );
        near(salinityAfterSaltLoss(volumeL, now, volumeL / 10), now * 0.9, 1e-12, 'lost');
      }),
    );
  });

  test('a batch holds its salt, and a bag needs no less than that', (t) => {
    holds(
      t,
      fc.property(volumes, between(1, 41), between(10, 30), (volumeL, salinityPpt, temperatureC) => {
        const water = { salinityPpt, temperatureC };
        near(pureSaltG(volumeL, water), volumeL * saltGPerL(water), 1e-6, 'grams');
        assert.ok(pureSaltG(volumeL, water) <= mixForBatchG(volumeL, water).low * 1.001);
        const used = mixForBatchG(volumeL, water, 38).value;
        near(learnMixGPerL(used, volumeL, water), 38, 1e-9, 'strength of the bag');
      }),
    );
  });
});

describe('changes of water', () => {
  test('a batch leaves what is mixed by volume, and many small ones end where a flow does', (t) => {
    holds(
      t,
      fc.property(volumes, shares, amounts, amounts, (volumeL, change, now, added) => {
        const one = afterBatches(now, added, change, 1);
        near(
          one,
          mixed([
            [volumeL * (1 - change), now],
            [volumeL * change, added],
          ]),
          1e-9,
          'batch',
        );
        const [many, flow] = [
          afterBatches(now, added, change / 10_000, 10_000),
          afterFlow(now, added, volumeL * change, volumeL),
        ];
        near(many, flow, 0.01, 'flow');
        assert.ok(Math.min(now, added) - 1e-9 <= one && one <= Math.max(now, added) + 1e-9);
      }),
    );
  });

  test('so many batches, one batch or so much flow each reach the target', (t) => {
    holds(
      t,
      fc.property(
        volumes,
        shares,
        between(20, 100),
        between(0, 5),
        between(6, 19),
        (volumeL, change, now, added, target) => {
          const wanted = { now, added, target };
          const { exact, whole } = batchesFor(wanted, change);
          assert.ok(whole >= exact - 1e-9 && whole < exact + 1);
          assert.ok(afterBatches(now, added, change, whole) <= target + 1e-9);
          if (whole > 1) assert.ok(afterBatches(now, added, change, whole - 1) > target - 1e-9);
          near(
            afterBatches(now, added, batchShare(oneBatchFor(wanted, volumeL), volumeL), 1),
            target,
            1e-9,
            'one batch',
          );
          near(afterFlow(now, added, flowFor(wanted, volumeL), volumeL), target, 1e-9, 'flow');
        },
      ),
    );
  });

  test('the settled level repeats itself, and every start comes to it', (t) => {
    holds(
      t,
      fc.property(
        volumes,
        between(0.05, 0.9),
        between(0, 10),
        between(0, 3),
        amounts,
        (volumeL, change, rise, added, start) => {
          const { before, after, mean } = steadyBatches(rise, change, added);
          near(afterBatches(before, added, change, 1), after, 1e-9, 'after');
          near(after + rise, before, 1e-9, 'before');
          near(mean, (before + after) / 2, 1e-9, 'mean');
          let level = start;
          for (let week = 0; week < 700; week += 1) level = afterBatches(level + rise, added, change, 1);
          near(level, after, 1e-6, 'from any start');
          const settled = steadyFlow(rise, volumeL * change, volumeL, added);
          near(flowAgainstRise(start, rise, volumeL * change, volumeL, 1000, added), settled, 1e-6, 'flow');
        },
      ),
      100,
    );
  });

  test('a step is the gap times the part changed; the largest batch makes just the limit', (t) => {
    holds(
      t,
      fc.property(
        volumes,
        shares,
        between(6, 12),
        between(6, 12),
        between(0.1, 2),
        (volumeL, part, tank, added, limit) => {
          const step = alkalinityStep(volumeL * part, volumeL, tank, added, limit);
          near(
            step.after,
            mixed([
              [volumeL * (1 - part), tank],
              [volumeL * part, added],
            ]),
            1e-9,
            'after',
          );
          if (step.largestBatchL === null) assert.ok(Math.abs(added - tank) <= limit);
          else
            near(Math.abs(alkalinityStep(step.largestBatchL, volumeL, tank, added, limit).step), limit, 1e-9, 'limit');
          const warmth = temperatureStep(volumeL * part, volumeL, tank, added, limit);
          near(warmth.step, step.step, 1e-12, 'same rule');
        },
      ),
    );
  });
});

describe('RO, resin and cartridges', () => {
  test('what comes in goes out: product and waste carry what the feed brought', (t) => {
    holds(
      t,
      fc.property(between(20, 1000), between(0.05, 0.9), between(0.5, 1), (feed, recovered, rejected) => {
        const product = permeateMgL(feed, rejected);
        const waste = concentrateMgL(feed, recovered, rejected);
        near(recovered * product + (1 - recovered) * waste, feed, 1e-9 * feed, 'solids');
        near(rejection(feed, product), rejected, 1e-12, 'rejection');
      }),
    );
  });

  test('grams, grains, equivalents and litres left are one amount, and what passed is what is missing', (t) => {
    holds(
      t,
      fc.property(
        between(0.2, 5),
        between(5, 40),
        between(0.5, 50),
        between(0, 20),
        between(0, 1),
        (resinL, capacityGPerL, tdsMgL, co2MgL, part) => {
          const resin = { resinL, capacityGPerL, tdsMgL, co2MgL };
          const whole = resinLitres(resin);
          const used = takenUpG([{ litres: whole * part, tdsMgL, co2MgL }]);
          const left = resinLeft(resin, used);
          near(left.litres, whole * (1 - part), 1e-6 * whole, 'litres');
          near(left.grains * 0.06479891, left.grams, 1e-9, 'grains');
          near(left.equivalents * 50.04345, left.grams, 1e-9, 'equivalents');
          near(left.share, 1 - part, 1e-9, 'share');
          assert.ok(resinLitres({ ...resin, co2MgL: co2MgL + 1 }) < whole);
        },
      ),
    );
  });

  test('a learned flow foretells the runs it was learned from', (t) => {
    const run = fc.record({ temperatureC: between(6, 28), flowLPerH: between(5, 25) });
    holds(
      t,
      fc.property(fc.array(run, { minLength: 3, maxLength: 20 }), between(5, 30), (runs, temperatureC) => {
        const { at25, samples } = learnFlow(runs);
        assert.equal(samples, runs.length);
        const all = runs.map(normalisedFlow);
        for (const one of runs) {
          const { value, low, high } = normalisedFlowBand(one);
          assert.ok(low <= value && value <= high);
          near(value, normalisedFlow(one), 1e-9, 'thin film');
        }
        assert.ok(Math.min(...all) - 1e-9 <= at25.low && at25.high <= Math.max(...all) + 1e-9);
        const time = hoursToMake(10, at25, temperatureC);
        assert.ok(time.low <= time.value && time.value <= time.high);
      }),
    );
  });

  test('the first limit of a cartridge wins', () => {
    const cartridge = { limitL: 10_000, usedL: 8_035, limitDays: 182.5, ageDays: 162, feedLPerDay: 49.6 };
    assert.deepEqual(cartridgeLeft(cartridge), { litres: 1_965, days: 20.5, first: 'age' });
    assert.equal(cartridgeLeft({ ...cartridge, ageDays: 10 }).first, 'litres');
    assert.ok(cartridgeLeft({ ...cartridge, usedL: 12_000 }).days < 0);
  });
});
