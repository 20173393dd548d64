import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import { MEASURES, ROLE_IDS, type RoleId } from '../../../src/model/index.ts';
import {
  CAUTIONS,
  cautionsAt,
  cautionTexts,
  checkRuleOverride,
  isCaution,
  PARTS,
  PROCEDURES,
  procedureDef,
  ROLES,
  RULE_IDS,
  RULES,
  ruleSetting,
  settingsOf,
} from '../../../src/rules/index.ts';
import { DAY_MS, MONTH_MS } from '../../../src/units/index.ts';

const ascending = (values: readonly number[]): boolean => values.every((v, i) => i === 0 || v > (values[i - 1] ?? v));

describe('roles', () => {
  test('every role of the vocabulary has its facts, in words a keeper can read', () => {
    assert.deepEqual(Object.keys(ROLES).sort(), [...ROLE_IDS].sort());
    for (const role of Object.values(ROLES)) {
      for (const text of [role.name, role.hazardStopped, role.hazardStarted, role.wattsShape])
        assert.ok(text.length > 3);
    }
  });

  test('stop ranks keep K34: adders, dosers, skimmer, heat, UV, reactors, return, circulation last', () => {
    const order: RoleId[] = [
      ...(['top-off', 'dosing-pump', 'skimmer', 'heater', 'uv-unit', 'media-reactor'] as const),
      ...(['return-pump', 'circulation-pump'] as const),
    ];
    assert.ok(ascending(order.map((role) => ROLES[role].stopRank)));
  });

  test('start ranks keep K22: circulation, return, heat, UV, reactors, skimmer, dosers, lamps, top-off last of all', () => {
    const order: RoleId[] = [
      ...(['circulation-pump', 'return-pump', 'heater', 'uv-unit', 'media-reactor', 'skimmer'] as const),
      ...(['dosing-pump', 'fluorescent-bank', 'top-off'] as const),
    ];
    assert.ok(ascending(order.map((role) => ROLES[role].startRank)));
    assert.equal(Math.max(...Object.values(ROLES).map((role) => role.startRank)), ROLES['top-off'].startRank);
  });

  test('who adds, who moves water, who needs flow', () => {
    const having = (is: (role: (typeof ROLES)[RoleId]) => boolean): string[] =>
      ROLE_IDS.filter((id) => is(ROLES[id])).sort();
    assert.deepEqual(
      having((r) => r.adder),
      ['dosing-pump', 'limewater-doser', 'mixing-pump', 'ro-unit', 'top-off'],
    );
    assert.deepEqual(
      having((r) => r.waterMover),
      ['circulation-pump', 'return-pump'],
    );
    for (const id of having((r) => r.adder)) {
      assert.ok(
        ROLES[id as RoleId].needs.some((need) => need.effect === 'sump-level'),
        id,
      );
    }
    for (const id of ['heater', 'chiller', 'uv-unit', 'media-reactor', 'algae-reactor', 'calcium-reactor'] as const) {
      assert.ok(ROLES[id].needsFlow && ROLES[id].needs.some((need) => need.effect === 'return-flow'), id);
    }
  });

  test('every waiting time and need points at a rule and setting that exist', () => {
    for (const role of Object.values(ROLES)) {
      for (const wait of [role.stopWait, role.startWait]) {
        if (wait) assert.ok(settingsOf(wait.rule)[wait.setting], `${role.name}: ${wait.rule} ${wait.setting}`);
      }
      for (const need of role.needs) assert.ok(RULES[need.rule]);
    }
  });
});

describe('parts', () => {
  test('all 42 parts, each with a limit in a measure the product counts, an action and a mark', () => {
    assert.equal(Object.keys(PARTS).length, 42);
    for (const [id, part] of Object.entries(PARTS)) {
      assert.equal(part.id, id);
      assert.match(id, /^[a-z]+(-[a-z]+)*$/);
      assert.ok(part.limits.length > 0, id);
      for (const limit of part.limits) assert.ok(MEASURES.includes(limit.measure) && limit.amount > 0, id);
      assert.equal(new Set(part.limits.map((limit) => limit.measure)).size, part.limits.length, id);
      assert.ok(part.minutes > 0 && part.action.length > 2 && part.ifLate.length > 2 && part.marks.length > 0, id);
      for (const mark of part.marks) assert.match(mark, /^(https?:\/\/\S+|common practice, no source|from memory)$/);
    }
  });

  test('the safety parts are the five whose failure floods, burns or leaves unprotected', () => {
    const safety = Object.values(PARTS)
      .filter((part) => part.safety)
      .map((part) => part.id)
      .sort();
    assert.deepEqual(safety, ['backup-battery', 'heater', 'plug-relay', 'rcd-leak-sensors', 'top-off-floats']);
  });

  test('calendar limits are whole days of the same month the durations use', () => {
    const daysOf = (id: string): number | undefined =>
      PARTS[id]?.limits.find((each) => each.measure === 'days')?.amount;
    assert.equal(daysOf('return-pump-wet-end'), Math.round((4 * MONTH_MS) / DAY_MS));
    assert.equal(daysOf('sediment-cartridge'), Math.round((6 * MONTH_MS) / DAY_MS));
    assert.equal(daysOf('fluorescent-tubes'), 365);
    assert.equal(daysOf('heater'), 730);
    for (const part of Object.values(PARTS)) {
      for (const limit of part.limits) if (limit.measure === 'days') assert.ok(Number.isInteger(limit.amount), part.id);
    }
  });

  // Published ranges, each beside the page it was read on (as listed with the part).
  const published = [
    // aquaristsonline.com, chemical filtration: carbon is changed every two to six weeks
    { id: 'activated-carbon', measure: 'days', from: 14, to: 42 },
    // aquaristsonline.com and aquanerd.com, lamp change: fluorescent tubes every 8 to 12 months
    { id: 'fluorescent-tubes', measure: 'days', from: 240, to: 366 },
    // experts123.com, UV lamps: 4,000 to 9,000 lit hours
    { id: 'uv-lamp', measure: 'on-hours', from: 4_000, to: 9_000 },
    // top10electrical.com, standby batteries: three to five years
    { id: 'backup-battery', measure: 'days', from: 3 * 365, to: 5 * 366 },
    // ivanfairless.co.uk, residual current devices: tested at least every three months
    { id: 'rcd-leak-sensors', measure: 'days', from: 28, to: 92 },
  ] as const;
  for (const { id, measure, from, to } of published) {
    test(`${id}: the default lies in its published range`, () => {
      const amount = PARTS[id]?.limits.find((limit) => limit.measure === measure)?.amount ?? Number.NaN;
      assert.ok(amount >= from && amount <= to, `${amount} not in ${from}-${to}`);
    });
  }
});

describe('rules', () => {
  test('K1 to K36, each with its why, a mark, and defaults inside the safe range', () => {
    assert.deepEqual(Object.keys(RULES).sort(), [...RULE_IDS].sort());
    assert.equal(RULE_IDS.length, 36);
    for (const id of RULE_IDS) {
      const rule = RULES[id];
      assert.ok(rule.title.length > 5 && rule.why.length > 10 && rule.marks.length > 0, id);
      for (const [name, def] of Object.entries(rule.settings)) {
        assert.ok(def.min <= def.default && def.default <= def.max, `${id} ${name}`);
      }
    }
  });

  test('the numbers that keep hands and animals safe', () => {
    assert.equal(ruleSetting({}, 'K4', 'waitMs'), 15 * 60_000);
    assert.equal(ruleSetting({}, 'K18', 'readings'), 3);
    assert.equal(ruleSetting({}, 'K18', 'spanMs'), 10_000);
    assert.equal(settingsOf('K18')['wattsMax']?.max, 2);
    assert.equal(ruleSetting({}, 'K20', 'maxAgeMs'), 120_000);
    assert.equal(settingsOf('K35')['retries']?.max, 1);
  });

  test('an override is taken inside its range and refused outside, with the range in the reason', () => {
    const all = RULE_IDS.flatMap((rule) =>
      Object.entries(settingsOf(rule)).map(([setting, def]) => ({ rule, setting, def })),
    );
    fc.assert(
      fc.property(fc.constantFrom(...all), fc.double({ min: -2, max: 3, noNaN: true }), ({ rule, setting, def }, x) => {
        const value = def.min + x * (def.max - def.min || 1);
        const inside = value >= def.min && value <= def.max;
        const check = checkRuleOverride(rule, setting, value);
        assert.equal(check.ok, inside);
        if (!check.ok) assert.match(check.reason, new RegExp(`${rule} ${setting}`));
        const used = ruleSetting({ [rule]: { [setting]: value } }, rule, setting);
        assert.ok(used >= def.min && used <= def.max);
        if (inside) assert.equal(used, value);
      }),
    );
  });

  test('unknown rules and settings are named, with what there is', () => {
    const rule = checkRuleOverride('K99', 'waitMs', 1);
    assert.ok(!rule.ok && rule.problem === 'unknown-rule' && rule.allowed.includes('K4'));
    const setting = checkRuleOverride('K4', 'wait', 1);
    assert.ok(!setting.ok && setting.problem === 'unknown-setting' && setting.allowed.includes('waitMs'));
    const nothing = checkRuleOverride('K1', 'x', 1);
    assert.ok(!nothing.ok && /nothing to set/.test(nothing.reason));
    const notANumber = checkRuleOverride('K4', 'waitMs', Number.NaN);
    assert.ok(!notANumber.ok && notANumber.problem === 'out-of-range');
    assert.throws(() => ruleSetting({}, 'K4', 'nothing'), RangeError);
  });
});

describe('cautions and procedures', () => {
  test('local code and licensed practice come first, everywhere they are shown', () => {
    assert.equal(CAUTIONS[0]?.id, 'local-code');
    for (const place of ['start', 'unplug', 'power'] as const)
      assert.match(cautionsAt(place)[0] ?? '', /local electrical code/);
    assert.equal(new Set(CAUTIONS.map((each) => each.id)).size, CAUTIONS.length);
    for (const each of CAUTIONS) assert.ok(each.text.endsWith('.') && each.shownAt.length > 0);
  });

  test('the fifteen procedures name cautions, rules, settings and each other rightly', () => {
    assert.deepEqual(Object.keys(PROCEDURES).sort(), [
      ...['annual-overhaul', 'circulation-service', 'commissioning', 'float-sensor-swap', 'heater-swap'],
      ...['lamp-set-change', 'leak-response', 'power-cut-restart', 'pump-pause', 'reactor-harvest'],
      ...['return-pump-service', 'rodi-service', 'skimmer-service', 'uv-service', 'water-change'],
    ]);
    for (const id of Object.keys(PROCEDURES) as (keyof typeof PROCEDURES)[]) {
      const def = procedureDef(id);
      assert.equal(def.id, id);
      assert.ok(def.purpose.endsWith('.'), id);
      const items = [def.first, def.before, def.handsOn, def.beforeStart, def.afterStart, def.atEnd].flatMap(
        (list) => list ?? [],
      );
      for (const item of items) {
        for (const caution of item.cautions) assert.ok(isCaution(caution), caution);
        assert.equal(cautionTexts(item.cautions).length, item.cautions.length);
        assert.match(item.text, /[.?]$/, item.id);
        if (item.rule) assert.ok(RULES[item.rule] && (item.why ?? '').length > 10, item.id);
        if (item.wait) assert.ok(settingsOf(item.wait.rule)[item.wait.setting], item.id);
        assert.equal(item.does === 'reading', item.reading !== undefined, item.id);
        assert.equal(item.does === 'observe', item.observe !== undefined, item.id);
        // A reading is held against one that is asked before it.
        const { sameAs } = item.reading ?? {};
        if (sameAs !== undefined) {
          const before = items.slice(0, items.indexOf(item));
          assert.ok(
            before.some((each) => each.id === sameAs && each.does === 'reading'),
            item.id,
          );
        }
      }
      for (const wait of [def.beforeUnplug, def.beforeTouch, def.steadyBeforeStart, def.endsAfter]) {
        if (wait) assert.ok(settingsOf(wait.rule)[wait.setting]);
      }
      for (const member of def.compose ?? []) assert.ok(Object.hasOwn(PROCEDURES, member), member);
      for (const phase of def.phases ?? []) {
        if ('of' in phase && phase.of !== undefined) assert.ok(def.compose?.includes(phase.of), phase.of);
        if (phase.do !== 'work' || phase.part === undefined) continue;
        const works = phase.of === undefined ? def : procedureDef(phase.of as keyof typeof PROCEDURES);
        assert.ok(
          works.handsOn.some((item) => item.part === phase.part),
          `${phase.of} ${phase.part}`,
        );
      }
    }
  });

  test('a composition leaves no work of its members out', () => {
    const def = procedureDef('annual-overhaul');
    for (const member of def.compose ?? []) {
      const phases = (def.phases ?? []).filter((phase) => 'of' in phase && phase.of === member);
      if (phases.some((phase) => phase.do === 'one-by-one')) continue;
      const works = phases.filter((phase) => phase.do === 'work');
      const items = procedureDef(member as keyof typeof PROCEDURES).handsOn;
      const done = items.filter((item) => works.some((phase) => phase.part === undefined || phase.part === item.part));
      assert.deepEqual(
        done.map((item) => item.id),
        items.map((item) => item.id),
        member,
      );
    }
  });
});
