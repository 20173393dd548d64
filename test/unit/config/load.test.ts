import assert from 'node:assert/strict';
import { resolve } from 'node:path';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import { exampleYaml, loadConfig } from '../../../src/config/index.ts';
import { SlackwaterError } from '../../../src/errors/index.ts';
import { PARTS, RULES } from '../../../src/rules/index.ts';
import { GOOD } from './good-configuration.ts';

const load = (text: string) => loadConfig(text, '/etc/slackwater/slackwater.yaml');
const changed = (from: string, to: string) => {
  assert.ok(GOOD.includes(from), from);
  return GOOD.replace(from, () => to);
};
function findings(text: string): readonly string[] {
  try {
    load(text);
    return [];
  } catch (error) {
    assert.ok(error instanceof SlackwaterError, String(error));
    return error.details.map((each) => each.message);
  }
}

describe('a good configuration', () => {
  const { config, warnings } = load(GOOD);

  test('has its quantities in the inside units', () => {
    assert.equal(config.tank.volumeL, 210);
    assert.deepEqual(config.tank.sump, { litresPerCm: 1.8, normalLevelCm: 20, rimLevelCm: 38, drainDownL: 11 });
    assert.equal(config.tank.sensors[0]?.maxAgeMs, 120_000);
    assert.deepEqual(config.reminders, { nearShare: 0.9, nearMs: 14 * 86_400_000, laterMs: 3 * 86_400_000 });
    assert.deepEqual(config.rules, { K7: { waitMs: 90_000 } });
  });

  test('has paths from the folder of the file, and secrets only pointed at', () => {
    assert.equal(config.storeFile, resolve('/etc/slackwater/data/slackwater.db'));
    assert.deepEqual(config.hub, { url: 'http://127.0.0.1:8123', token: { env: 'SLACKWATER_HUB_TOKEN' } });
    assert.deepEqual(config.access, [
      { id: 'node-red', name: 'node-red', kind: 'machine', tokenFile: resolve('/etc/slackwater/secrets/node-red') },
    ]);
    const withFile = load(changed('{ env: SLACKWATER_HUB_TOKEN }', '{ file: secrets/hub-token }'));
    assert.deepEqual(withFile.config.hub.token, { file: resolve('/etc/slackwater/secrets/hub-token') });
  });

  test('takes from the role what the file leaves out', () => {
    const [pump, heater] = config.tank.equipment;
    assert.equal(pump?.name, 'Return pump');
    assert.equal(pump?.cycling, false);
    assert.equal(heater?.cycling, true);
    assert.equal(heater?.inSump, true);
    assert.deepEqual(heater?.driver, { kind: 'thermostat', entity: 'climate.display' });
    assert.ok(heater !== undefined && !('powerEntity' in heater), 'what is not known is absent, not undefined');
  });

  test('gives each counter what it measures', () => {
    assert.deepEqual(
      config.tank.counters.map((each) => [each.id, each.source.kind, each.measures]),
      [
        ['lamp-lit', 'power-threshold', ['on-hours', 'starts']],
        ['heater-on', 'on-state', ['on-hours', 'starts']],
        ['feed', 'total', ['litres']],
      ],
    );
  });

  test('keeps limits in the unit of their measure, and reads a day in the zone of the tank', () => {
    const [tubes] = config.tank.parts;
    assert.deepEqual(tubes?.limits, [
      { measure: 'on-hours', amount: 3600 },
      { measure: 'days', amount: 365 },
    ]);
    assert.equal(tubes?.fittedAt, Date.UTC(2026, 0, 5));
    const inBerlin = load(changed('zone: Europe/London', 'zone: Europe/Berlin')).config.tank.parts[0];
    assert.equal(inBerlin?.fittedAt, Date.UTC(2026, 0, 4, 23));
  });

  test('resolves deputies to the names that stand on claims', () => {
    assert.deepEqual(config.deputies, { Robin: 'Sam' });
  });

  test('says what the tank lacks, without refusing it', () => {
    assert.deepEqual(warnings, ['Heater: no power reading, so off can be reported but not proven.']);
  });
});

describe('a sparse tank', () => {
  test('with neither sump, sensor, plug nor person is legal, and told what that means', () => {
    const sparse = [
      'tank: { name: Bare, zone: UTC, volume: 20 gal }',
      'hub: { url: http://hub, token: { env: T } }',
      'equipment: { filter: { role: return-pump, driver: always-on } }',
      'parts: { wet-end: { kind: return-pump-wet-end, equipment: filter } }',
    ].join('\n');
    const { config, warnings } = load(sparse);
    assert.equal(config.tank.volumeL, 20 * 3.785411784);
    assert.deepEqual(config.tank.parts[0]?.limits, PARTS['return-pump-wet-end']?.limits);
    assert.equal(config.api.port, 8787);
    assert.equal(config.prefix, 'slackwater');
    assert.equal(warnings.length, 4);
    assert.match(warnings.join('\n'), /No sump is described.*\n?/);
    assert.match(warnings.join('\n'), /nobody can say "unplugged"/);
  });
});

describe('light hours and leads', () => {
  test('are minutes of the local day, over midnight too, and a mark on the equipment', () => {
    const written = (hours: string) =>
      load(
        [
          `tank: { name: Bare, zone: UTC, volume: 20 gal, lights: ${hours} }`,
          'hub: { url: http://hub, token: { env: T } }',
          'equipment: { skimmer: { role: skimmer, driver: always-on, quickDisconnect: true } }',
        ].join('\n'),
      ).config.tank;
    assert.deepEqual(written('09:30-21:00').lights, { onMinute: 570, offMinute: 1260 });
    assert.deepEqual(written('14:00 – 02:15').lights, { onMinute: 840, offMinute: 135 });
    assert.equal(written('09:30-21:00').equipment[0]?.quickDisconnect, true);
    assert.throws(() => written('09:30-09:30'), { code: 'SW-CFG-001' });
  });
});

describe('limits', () => {
  const heater = (rest: string) =>
    changed('people:\n', `  heat: { kind: heater, equipment: heater, fitted: 2026-01-01${rest} }\npeople:\n`);

  test('a default limit that a counter in the file could feed must be fed', () => {
    assert.deepEqual(findings(heater('')), [
      '/etc/slackwater/slackwater.yaml:33:3: parts.heat: the limit on starts has no counter to measure it.',
    ]);
    const counted = load(heater(', counts: { starts: heater-on }')).config.tank.parts.find(
      (each) => each.id === 'heat',
    );
    assert.deepEqual(counted?.limits, PARTS['heater']?.limits);
    assert.equal(counted?.safety, true);
  });

  test('a default limit that nothing in the home can count is dropped aloud, never the last one', () => {
    const noCounters = [
      'tank: { name: Bare, zone: UTC, volume: 20 gal }',
      'hub: { url: http://hub, token: { env: T } }',
      'parts: { heat: { kind: heater, fitted: 2026-01-01 }, relay: { kind: plug-relay, fitted: 2026-01-01 } }',
    ].join('\n');
    assert.deepEqual(findings(noCounters), [
      '/etc/slackwater/slackwater.yaml:3:54: parts.relay: the limit on starts has no counter to measure it.',
    ]);
    const { config, warnings } = load(noCounters.replace(', relay: { kind: plug-relay, fitted: 2026-01-01 }', ''));
    assert.deepEqual(
      config.tank.parts[0]?.limits.map((each) => each.measure),
      ['days'],
    );
    assert.ok(warnings.some((each) => each.includes('nothing counts its starts')));
  });

  test('a longer life for a safety part is told', () => {
    const { warnings } = load(heater(', limits: { days: 4 y }'));
    assert.ok(warnings.includes('heater: a safety part, and its limit of 1,460 d is longer than the usual 730 d.'));
  });

  test('a safety part keeps the usual limits that its own do not name; another part does not', () => {
    const parts = load(heater(', limits: { starts: "40,000 starts" }, counts: { starts: heater-on }')).config.tank
      .parts;
    const heat = parts.find((each) => each.id === 'heat');
    assert.deepEqual(heat?.limits, [
      { measure: 'starts', amount: 40_000 },
      { measure: 'days', amount: 730 },
    ]);
    const uncounted = load(heater(', limits: { days: 700 d }'));
    assert.ok(uncounted.warnings.some((each) => each.includes('nothing counts its starts')));
    const tubes = load(changed('limits: { on-hours: 3600 h, days: 12 mo }', 'limits: { on-hours: 3600 h }'));
    const lit = tubes.config.tank.parts.find((each) => each.kind === 'fluorescent-tubes');
    assert.deepEqual(lit?.limits, [{ measure: 'on-hours', amount: 3_600 }]);
  });

  test('a limit of nothing is refused', () => {
    assert.match(findings(heater(', limits: { days: 0 d }'))[0] ?? '', /found 0 d, allowed is more than 0/);
  });
});

describe('rule overrides', () => {
  test('every setting takes its own default and both ends of its safe range', async () => {
    const { settingKey, showSetting } = await import('../../../src/config/schema-rules.ts');
    for (const [id, rule] of Object.entries(RULES)) {
      for (const [name, setting] of Object.entries(rule.settings)) {
        for (const value of [setting.default, setting.min, setting.max]) {
          const text = changed('K7: { wait: 90 s }', `${id}: { ${settingKey(name)}: ${showSetting(setting, value)} }`);
          const got = load(text).config.rules[id]?.[name];
          assert.ok(got !== undefined && Math.abs(got - value) < 1e-9, `${id} ${name}: ${got} for ${value}`);
        }
      }
    }
  });
});

describe('whatever is written', () => {
  const lines = exampleYaml().split('\n');
  const junk = fc.constantFrom(
    '',
    '~',
    '[]',
    '{}',
    '-1',
    '1e999',
    'true',
    '"',
    '!tag x',
    '&a *a',
    '450 W',
    'switch.x',
    '__proto__: 1',
    '💧',
    '1,5 L',
    'on',
  );

  test('only catalogue errors come out, each with its place in the file', () => {
    const edit = fc.record({
      line: fc.nat({ max: lines.length - 1 }),
      how: fc.constantFrom('value', 'drop', 'twice', 'indent', 'all'),
      junk: fc.oneof(junk, fc.string({ unit: 'grapheme', maxLength: 10 })),
    });
    fc.assert(
      fc.property(fc.array(edit, { minLength: 1, maxLength: 3 }), (edits) => {
        const text = edits.reduce((before, each) => apply(before, each), lines).join('\n');
        for (const message of findings(text)) {
          assert.match(message, /^\/etc\/slackwater\/slackwater\.yaml:\d+:\d+: /);
          assert.doesNotMatch(message, /undefined|\[object|NaN/);
        }
      }),
      { numRuns: 300 },
    );
  });

  function apply(
    before: readonly string[],
    { line, how, junk: text }: { line: number; how: string; junk: string },
  ): string[] {
    const old = before[line] ?? '';
    const key = /^\s*[\w-]+:/.exec(old)?.[0];
    if (how === 'drop') return before.toSpliced(line, 1);
    if (how === 'twice') return before.toSpliced(line, 0, old);
    if (how === 'indent') return before.toSpliced(line, 1, ` ${old}`);
    return before.toSpliced(line, 1, how === 'value' && key !== undefined ? `${key} ${text}` : text);
  }

  test('no message repeats a token', () => {
    const secret = 'eyJhbGciOiJIUzI1NiJ9.c2VjcmV0.c2lnbmF0dXJl';
    for (const to of [
      `token: ${secret}`,
      `token: [${secret}]`,
      `token: { env: ${secret} }`,
      `token: { file: ${secret} }`,
      `token: { env: [${secret}] }`,
      `token: "${secret}`,
    ]) {
      const said = findings(changed('token: { env: SLACKWATER_HUB_TOKEN }', to));
      assert.ok(said.length > 0);
      assert.ok(!said.join('\n').includes('c2VjcmV0'), to);
    }
  });
});
