import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import type { RoleId } from '../../../src/model/index.ts';
import { type Effect, ROLES, RULE_IDS, RULES, type RuleId, SOURCES, settingsOf } from '../../../src/rules/index.ts';

// The figures of the trade, written down once more apart from the rule pack: default and safe range of each rule, and where
// it is from. A page's address stands for what was read there; CP is common practice, no source; CALC worked out.
const CP = 'common practice, no source';
const CALC = 'worked out from the tank’s own figures';
const S = SOURCES;
const SECOND = 1_000;
const MINUTE = 60 * SECOND;
const HOUR = 60 * MINUTE;
const DAY = 24 * HOUR;

type Figure = readonly [setting: string, value: number, least: number, most: number];
type Row = readonly [rule: RuleId, figures: readonly Figure[], marks: readonly string[]];

const TABLE: readonly Row[] = [
  ['K1', [], [CP, S.floatJams]],
  ['K2', [['reactMs', 3 * SECOND, 1 * SECOND, 10 * SECOND]], [CP]],
  [
    'K3',
    [
      ['runFactor', 3, 1.5, 5],
      ['runMaxMs', 5 * MINUTE, 1 * MINUTE, 10 * MINUTE],
      ['dayFactor', 2, 1.5, 3],
    ],
    [S.floatJams],
  ],
  ['K4', [['waitMs', 15 * MINUTE, 10 * MINUTE, 30 * MINUTE]], [S.heaterDry, S.heaterOut, S.heaterCools]],
  [
    'K5',
    [
      ['flowMs', 2 * MINUTE, 1 * MINUTE, 5 * MINUTE],
      ['probeGapC', 0.7, 0.5, 1],
    ],
    [CP],
  ],
  ['K6', [['soakMs', 20 * MINUTE, 15 * MINUTE, 30 * MINUTE]], [S.heaterCools]],
  ['K7', [['waitMs', 60 * SECOND, 30 * SECOND, 180 * SECOND]], [CP]],
  ['K8', [['waitMs', 10 * MINUTE, 5 * MINUTE, 30 * MINUTE]], [CP]],
  [
    'K9',
    [
      ['settleMs', 3 * MINUTE, 2 * MINUTE, 10 * MINUTE],
      ['riseShare', 0.2, 0.1, 0.3],
      ['steadyForMs', 2 * MINUTE, 1 * MINUTE, 5 * MINUTE],
      ['steadyBandCm', 0.5, 0.3, 1],
    ],
    [S.siphonBreak, S.drainDown],
  ],
  ['K10', [['factor', 1.2, 1.1, 1.5]], [S.sumpRoom, CALC]],
  [
    'K11',
    [
      ['offMs', 5 * MINUTE, 2 * MINUTE, 10 * MINUTE],
      ['onMs', 2 * MINUTE, 1 * MINUTE, 5 * MINUTE],
    ],
    [CP, S.uvEyes],
  ],
  ['K12', [['waitMs', 5 * MINUTE, 2 * MINUTE, 10 * MINUTE]], [S.carbonDioxide]],
  [
    'K13',
    [
      ['mediaMs', 6 * HOUR, 2 * HOUR, 12 * HOUR],
      ['algaeMs', 2 * HOUR, 1 * HOUR, 4 * HOUR],
    ],
    [CP],
  ],
  ['K14', [['restartMs', 5 * MINUTE, 3 * MINUTE, 10 * MINUTE]], [S.chiller]],
  [
    'K15',
    [
      ['afterMs', 10 * MINUTE, 5 * MINUTE, 30 * MINUTE],
      ['apartMs', 30 * MINUTE, 15 * MINUTE, 60 * MINUTE],
    ],
    [S.limewater, CP],
  ],
  [
    'K16',
    // "Warn 15, alarm 30, hard 60 min; heavy stock or night: halve." Longer than that is not offered.
    [
      ['warnMs', 15 * MINUTE, 5 * MINUTE, 30 * MINUTE],
      ['alarmMs', 30 * MINUTE, 10 * MINUTE, 45 * MINUTE],
      ['hardMs', 60 * MINUTE, 20 * MINUTE, 60 * MINUTE],
      ['darkFactor', 0.5, 0.25, 0.5],
    ],
    [S.coralFlow, S.coralLowOxygen, S.powerCut],
  ],
  ['K17', [['remindMs', 30 * MINUTE, 10 * MINUTE, 60 * MINUTE]], [S.lockout]],
  [
    'K18',
    [
      ['readings', 3, 2, 10],
      ['spanMs', 10 * SECOND, 5 * SECOND, 60 * SECOND],
      ['wattsMax', 2, 1, 2],
      ['wattsShare', 0.05, 0.01, 0.05],
    ],
    [S.meterError, CP],
  ],
  [
    'K19',
    [
      ['tolerance', 0.15, 0.1, 0.25],
      ['forMs', 60 * SECOND, 30 * SECOND, 180 * SECOND],
      ['retries', 2, 0, 2],
    ],
    [S.dryRunWatts, CP],
  ],
  ['K20', [['maxAgeMs', 120 * SECOND, 30 * SECOND, 300 * SECOND]], [CP]],
  ['K21', [['gapMs', 60 * SECOND, 30 * SECOND, 300 * SECOND]], [CP]],
  ['K22', [['staggerMs', 10 * SECOND, 5 * SECOND, 30 * SECOND]], [CP, S.inrush]],
  [
    'K23',
    [
      ['waitMs', 20 * MINUTE, 10 * MINUTE, 60 * MINUTE],
      ['markCm', 0.5, 0.3, 1],
    ],
    [CP],
  ],
  [
    'K24',
    [
      ['coolMs', 15 * MINUTE, 10 * MINUTE, 30 * MINUTE],
      ['startShare', 0.6, 0.5, 0.7],
      ['rampMs', 18 * DAY, 7 * DAY, 28 * DAY],
    ],
    [S.newLampShock, S.coralLighting, S.newLightSlowly, S.coralAdjusts, S.coralAdjustsFull, S.coralSymbionts],
  ],
  [
    'K25',
    [
      ['flushMs', 60 * MINUTE, 30 * MINUTE, 120 * MINUTE],
      ['productMgL', 1, 0, 2],
      ['resinFlushMs', 10 * MINUTE, 5 * MINUTE, 20 * MINUTE],
    ],
    [S.carbonFines, CP],
  ],
  ['K26', [['mixFirstMs', 1 * MINUTE, 1 * MINUTE, 5 * MINUTE]], [S.heaterDry]],
  [
    'K27',
    [
      ['temperatureC', 1, 0.5, 2],
      ['salinityPpt', 0.5, 0.3, 1],
      ['ageMs', 4 * HOUR, 1 * HOUR, 24 * HOUR],
      ['alkalinityDkh', 1, 0.5, 1.4],
      ['mixedMs', 5 * MINUTE, 3 * MINUTE, 15 * MINUTE],
    ],
    [S.waterChange, S.seawaterFacts, CP],
  ],
  ['K28', [['differenceL', 2, 1, 5]], [CP]],
  [
    'K29',
    [
      ['reactMs', 5 * SECOND, 1 * SECOND, 15 * SECOND],
      ['dryMs', 10 * MINUTE, 5 * MINUTE, 30 * MINUTE],
    ],
    [CALC],
  ],
  [
    'K30',
    [
      ['wattsMax', 2, 1, 2],
      ['forMs', 2 * SECOND, 1 * SECOND, 5 * SECOND],
      ['wrongCordMs', 30 * SECOND, 10 * SECOND, 60 * SECOND],
    ],
    [S.lockout, CP],
  ],
  ['K31', [], [S.startUpSetting, CP]],
  ['K32', [], [CP]],
  ['K33', [['marginMs', 60 * MINUTE, 30 * MINUTE, 120 * MINUTE]], [S.coralFlow]],
  ['K34', [], [CP]],
  ['K35', [['retries', 1, 0, 1]], [CP]],
  [
    'K36',
    [
      ['beforeMs', 30 * MINUTE, 15 * MINUTE, 60 * MINUTE],
      ['afterMs', 15 * MINUTE, 10 * MINUTE, 30 * MINUTE],
    ],
    [CP],
  ],
];

describe('the rules, figure by figure', () => {
  test('all thirty-six are held against the table', () => {
    assert.deepEqual(
      TABLE.map(([rule]) => rule),
      [...RULE_IDS],
    );
  });

  for (const [rule, figures, marks] of TABLE) {
    test(`${rule}: ${RULES[rule].title}`, () => {
      for (const [setting, value, least, most] of figures) {
        const { default: shipped, min, max } = settingsOf(rule)[setting] ?? { default: Number.NaN, min: 0, max: 0 };
        const close = (a: number, b: number): boolean => Math.abs(a - b) < 1e-9 * Math.max(1, Math.abs(b));
        assert.ok(
          close(shipped, value) && close(min, least) && close(max, most),
          `${setting}: ${shipped} (${min}-${max})`,
        );
      }
      assert.deepEqual([...RULES[rule].marks].sort(), [...marks].sort());
    });
  }
});

/** The roles: who adds, who moves water, what takes it along, and how long it may be off without worry. */
type RoleRow = {
  readonly role: RoleId;
  readonly adds?: true;
  readonly moves?: true;
  readonly life?: true;
  readonly cycles?: true;
  readonly needs?: readonly (readonly [Effect, RuleId])[];
  readonly offMs: number | null;
  readonly startUp: 'on' | 'off' | 'any';
};

const ROLE_TABLE: readonly RoleRow[] = [
  { role: 'return-pump', moves: true, life: true, offMs: 60 * MINUTE, startUp: 'on' },
  { role: 'circulation-pump', moves: true, life: true, offMs: 60 * MINUTE, startUp: 'on' },
  { role: 'skimmer', needs: [['sump-level', 'K7']], offMs: DAY, startUp: 'any' },
  { role: 'heater', life: true, cycles: true, needs: [['return-flow', 'K4']], offMs: 2 * HOUR, startUp: 'on' },
  { role: 'chiller', cycles: true, needs: [['return-flow', 'K14']], offMs: HOUR, startUp: 'off' },
  { role: 'fan', cycles: true, offMs: HOUR, startUp: 'any' },
  { role: 'fluorescent-bank', offMs: DAY, startUp: 'any' },
  { role: 'led-lamp', offMs: DAY, startUp: 'any' },
  { role: 'uv-unit', needs: [['return-flow', 'K11']], offMs: null, startUp: 'off' },
  { role: 'media-reactor', needs: [['return-flow', 'K13']], offMs: 6 * HOUR, startUp: 'any' },
  { role: 'algae-reactor', needs: [['return-flow', 'K13']], offMs: 2 * HOUR, startUp: 'any' },
  { role: 'algae-lamp', needs: [['return-flow', 'K13']], offMs: DAY, startUp: 'any' },
  { role: 'calcium-reactor', needs: [['return-flow', 'K12']], offMs: DAY, startUp: 'off' },
  {
    role: 'limewater-doser',
    adds: true,
    needs: [
      ['sump-level', 'K1'],
      ['return-flow', 'K15'],
    ],
    offMs: DAY,
    startUp: 'off',
  },
  {
    role: 'dosing-pump',
    adds: true,
    needs: [
      ['sump-level', 'K1'],
      ['return-flow', 'K15'],
    ],
    offMs: 12 * HOUR,
    startUp: 'off',
  },
  { role: 'top-off', adds: true, cycles: true, needs: [['sump-level', 'K1']], offMs: 12 * HOUR, startUp: 'off' },
  { role: 'ro-unit', adds: true, cycles: true, needs: [['sump-level', 'K1']], offMs: null, startUp: 'off' },
  { role: 'mixing-pump', adds: true, needs: [['sump-level', 'K1']], offMs: null, startUp: 'off' },
  { role: 'mixing-heater', cycles: true, needs: [['mixing-flow', 'K26']], offMs: null, startUp: 'off' },
  { role: 'feeder', cycles: true, needs: [['return-flow', 'K36']], offMs: 48 * HOUR, startUp: 'any' },
  { role: 'air-pump', life: true, offMs: null, startUp: 'on' },
  { role: 'battery-backup', life: true, offMs: null, startUp: 'on' },
  { role: 'hub-network', offMs: null, startUp: 'on' },
];

describe('the roles, fact by fact', () => {
  test('each of them stands in the table once', () => {
    assert.deepEqual(ROLE_TABLE.map((row) => row.role).sort(), Object.keys(ROLES).sort());
  });

  for (const row of ROLE_TABLE) {
    test(row.role, () => {
      const facts = ROLES[row.role];
      assert.equal(facts.adder, row.adds === true, 'adds water or chemicals');
      assert.equal(facts.waterMover, row.moves === true, 'moves water');
      assert.equal(facts.lifeSupport, row.life === true, 'life support');
      assert.equal(facts.cycling, row.cycles === true, 'draws watts only now and then');
      assert.deepEqual(
        facts.needs.map(({ effect, rule }) => [effect, rule]),
        row.needs ?? [],
      );
      assert.equal(facts.maxOffMs, row.offMs);
      assert.equal(facts.startUp, row.startUp);
      assert.match(facts.hazardStopped, /\.$/);
      assert.match(facts.hazardStarted, /\.$/);
    });
  }

  test('what is stopped takes along: the return its flow and the sump’s level, the mixing pump the barrel’s mixing', () => {
    const taking = Object.entries(ROLES).filter(([, facts]) => facts.stopEffects.length > 0);
    assert.deepEqual(
      taking.map(([role, facts]) => [role, [...facts.stopEffects]]).sort(),
      [
        ['mixing-pump', ['mixing-flow']],
        ['return-pump', ['sump-level', 'return-flow']],
      ].sort(),
    );
  });

  test('the hub, backup power and the air pump are never stopped by a session', () => {
    const never = Object.entries(ROLES).filter(([, facts]) => facts.neverStopped);
    assert.deepEqual(never.map(([role]) => role).sort(), ['air-pump', 'battery-backup', 'hub-network']);
  });
});
