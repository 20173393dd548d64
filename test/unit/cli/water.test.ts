import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { describe, test } from 'node:test';
import { TOPICS } from '../../../src/cli/water/index.ts';
import { waterPage, wordsOf } from '../../../src/cli/water/page.ts';
import { runMain } from './run-cli.ts';

const page = readFileSync(new URL('../../../docs/water.md', import.meta.url), 'utf8');
/** Each call of the page with what stands below it. */
const calls = [...page.matchAll(/^```text\nslackwater (water .*)\n([\s\S]*?)^```$/gm)].map((match) => ({
  call: match[1] ?? '',
  answer: match[2] ?? '',
}));

async function json(call: string): Promise<Record<string, unknown>> {
  const { code, out, err } = await runMain(wordsOf(call));
  assert.equal(code, 0, `${call}: ${err}`);
  return JSON.parse(out) as Record<string, unknown>;
}

test('docs/water.md is what the topics give now (renew it with: node src/cli/water/page.ts)', async () => {
  assert.equal(page, await waterPage());
});

describe('each call of docs/water.md runs and gives the answer shown', () => {
  for (const { call, answer } of calls)
    test(call, async () => {
      const { code, out, err } = await runMain(wordsOf(call));
      assert.deepEqual({ code, err, out }, { code: 0, err: '', out: answer });
    });

  test('every topic and every option of it is among them', () => {
    const all = calls.map(({ call }) => `${call} `);
    const missing = TOPICS.flatMap(({ name, options }) =>
      options
        .filter(
          (option) => !all.some((call) => call.startsWith(`water ${name} `) && call.includes(` --${option.name} `)),
        )
        .map((option) => `${name} --${option.name}`),
    );
    assert.deepEqual(missing, []);
    assert.ok(all.length > 60, `only ${all.length} calls`);
  });
});

describe('--json', () => {
  for (const { name, examples } of TOPICS)
    test(`${name}: a number with its unit and source; bounds around it`, async () => {
      for (const example of examples) {
        const found = await json(`water ${name} ${example} ${example.includes('--json') ? '' : '--json'}`);
        assert.equal(found['topic'], name);
        assert.ok(Number.isFinite(found['value']), `${example}: value`);
        assert.ok(typeof found['unit'] === 'string' && found['unit'] !== '', `${example}: unit`);
        assert.ok(typeof found['source'] === 'string' && found['source'].length > 10, `${example}: source`);
        const [low, value, high] = [found['low'], found['value'], found['high']] as number[];
        if (low !== undefined || high !== undefined) {
          assert.ok(value !== undefined && low !== undefined && high !== undefined);
          assert.ok(low <= value && value <= high, `${example}: ${low} ${value} ${high}`);
        }
      }
    });

  test('1.025 and 1.026 under each convention, and back', async () => {
    // gsw 3.6.23 with IAPWS-95 water, to 0.001 (the same rows as in docs/checks.md).
    const expected: readonly (readonly [string, string, number])[] = [
      ['25/25', '1.025', 33.186],
      ['25/25', '1.026', 34.506],
      ['20/20', '1.025', 32.896],
      ['20/20', '1.026', 34.206],
      ['60F/60F', '1.025', 32.582],
      ['60F/60F', '1.026', 33.881],
    ];
    for (const [convention, gravity, salinity] of expected) {
      const found = await json(`water salinity --gravity ${gravity} --convention ${convention} --json`);
      assert.ok(Math.abs((found['value'] as number) - salinity) < 0.001, `${gravity} ${convention}: ${found['value']}`);
      const back = await json(`water gravity --salinity "${found['value']} ppt" --convention ${convention} --json`);
      assert.ok(Math.abs((back['value'] as number) - Number(gravity)) < 1e-9);
      assert.match(String(found['convention']), /°[CF] \/ /);
    }
  });

  test('without a convention the answer says which it took and spans those that instruments are marked with', async () => {
    const found = await json('water salinity --gravity 1.0255 --json');
    assert.match(String(found['convention']), /none was named/);
    assert.ok((found['high'] as number) - (found['low'] as number) > 0.5);
  });
});

test('US and metric words give the same answer, and --us turns it over', async () => {
  const pairs: readonly (readonly [string, string])[] = [
    ['salt --volume "37.85411784 L"', 'salt --volume "10 gal"'],
    [
      'conductivity --salinity "35 ppt" --temperature "25 °C"',
      'conductivity --salinity "35 PSU" --temperature "77 °F"',
    ],
    ['oxygen --temperature "25 °C"', 'oxygen --temperature "77 °F"'],
    [
      'lead --wire "18 AWG" --length "3.048 m" --current "2.5 A" --supply "24 V"',
      'lead --wire "AWG 18" --length "10 ft" --current "2500 mA" --supply "24 V"',
    ],
  ];
  for (const [metric, us] of pairs) {
    const [a, b] = [await json(`water ${metric} --json`), await json(`water ${us} --json`)];
    assert.ok(
      Math.abs((a['value'] as number) - (b['value'] as number)) <= 1e-9 * Math.abs(a['value'] as number),
      metric,
    );
  }
  const pounds = await json('water salt --volume "10 gal" --us --json');
  const grams = await json('water salt --volume "10 gal" --json');
  assert.equal(pounds['unit'], 'lb');
  assert.ok(Math.abs((pounds['value'] as number) * 453.59237 - (grams['value'] as number)) < 1e-6);
  const cold = await json('water temperature --volume "100 L" --batch "10 L" --tank "25 °C" --new "15 °C" --us --json');
  assert.equal(cold['unit'], '°F');
  assert.ok(Math.abs((cold['value'] as number) - 75.2) < 1e-9);
});

describe('a mistake names the option, what is expected and an example, and works nothing out', () => {
  const mistakes: readonly (readonly [call: string, code: string, words: RegExp])[] = [
    ['salinity', 'SW-WAT-003', /--gravity or --conductivity is missing.*1\.0255/s],
    ['salinity --gravity 1.0255 --conductivity "53 mS/cm"', 'SW-WAT-004', /one at a time/],
    ['salinity --gravity 1.2', 'SW-WAT-002', /gravity: found 1\.2, allowed is .*1\.0255/s],
    ['salinity --gravity 1.035 --convention 25/25', 'SW-WAT-002', /0 to 42 ppt/],
    ['salinity --gravity 0.995', 'SW-WAT-002', /gravity/],
    ['salinity --gravity abc', 'SW-WAT-001', /--gravity: found "abc"/],
    ['salinity --gravity 1.0255 --convention warm', 'SW-WAT-001', /one of 60F\/60F, 20\/20, 25\/25/],
    ['salinity --gravity 1.0255 --convention 25/50', 'SW-WAT-002', /temperature: found 50 °C/],
    ['salinity --conductivity 53 --temperature "25 °C"', 'SW-WAT-001', /no unit.*mS\/cm/s],
    ['salinity --conductivity "53 mS/cm"', 'SW-WAT-003', /--temperature is missing/],
    ['salinity --conductivity "53 mS/cm" --temperature "45 °C"', 'SW-WAT-002', /-2 °C to 40 °C/],
    ['salinity --conductivity "80 mS/cm" --temperature "10 °C"', 'SW-WAT-002', /42 ppt/],
    ['salinity --conductivity "-1 mS/cm" --temperature "25 °C"', 'SW-WAT-002', /conductivity/],
    ['gravity --salinity "43 ppt"', 'SW-WAT-002', /salinity: found 43 ppt, allowed is 0 ppt to 42 ppt/],
    ['gravity --salinity "-1 ppt"', 'SW-WAT-002', /salinity/],
    ['gravity --salinity "35 L"', 'SW-WAT-001', /a volume/],
    ['gravity --salinity "35,0 ppt"', 'SW-WAT-001', /comma/],
    ['density --salinity "35 ppt" --temperature "25 °C" --standard ISO', 'SW-WAT-001', /TEOS-10, EOS-80/],
    ['hydrometer --reading 1.025 --temperature "25 °C" --scale "90 °C"', 'SW-WAT-002', /scale/],
    ['hydrometer --reading 1.025 --temperature "25 °C" --reading-error -0.001', 'SW-WAT-004', /reading-error/],
    ['refractometer --reading "60 ppt" --temperature "25 °C"', 'SW-WAT-002', /reading/],
    ['salt --volume "0 L"', 'SW-WAT-002', /more than 0 L/],
    ['salt --volume "45 L" --mix "90 g/L"', 'SW-WAT-002', /mix/],
    ['mix --volume "45 L" --used "100 g" --salinity "35 ppt"', 'SW-WAT-002', /weigh and measure again/],
    ['ro-flow --flow "12 L/h" --temperature "40 °C"', 'SW-WAT-002', /5 °C to 30 °C/],
    ['correct --volume "45 L" --salinity "33 ppt" --new "34 ppt"', 'SW-WAT-004', /far side/],
    ['change --volume "458 L" --batch "500 L" --now "20 mg/L"', 'SW-WAT-002', /batch/],
    ['change --volume "458 L" --batch "45 L" --now "20 mg/L" --target "0 mg/L"', 'SW-WAT-004', /never quite reached/],
    ['change --volume "458 L" --batch "45 L" --now "20 mg/L" --times x', 'SW-WAT-001', /a number/],
    ['steady --volume "458 L" --batch "0 L" --rise "2 mg/L"', 'SW-WAT-002', /change/],
    ['alkalinity --volume "450 L" --batch "45 L" --tank "40 dKH" --new "8 dKH"', 'SW-WAT-002', /tank/],
    ['drift --volume "458 L" --evaporation "600 L/d"', 'SW-WAT-002', /half of the tank/],
    ['ro --feed "10 mg/L" --permeate "320 mg/L"', 'SW-WAT-004', /exchanged/],
    ['ro-flow --rated "380 L/d" --pressure "0.1 bar" --feed "320 mg/L" --temperature "12 °C"', 'SW-WAT-004', /osmotic/],
    [
      'ro-flow --rated "380 L/d" --pressure "5 bar" --feed "320 mg/L" --temperature "2 °C"',
      'SW-WAT-002',
      /5 °C to 30 °C/,
    ],
    ['ro-flow --run "12 L/h at 12 °C" --temperature "12 °C"', 'SW-WAT-002', /3 runs/],
    ['ro-flow --run "12 °C" --temperature "12 °C"', 'SW-WAT-001', /--run/],
    ['resin --resin "1 L" --tds "0 mg/L"', 'SW-WAT-002', /tds/],
    ['cartridge --limit "10,000 L" --product "12 L/d"', 'SW-WAT-003', /--recovery/],
    ['evaporation --area "0.6 m²" --temperature "25 °C" --room "20 °C" --humidity "150 %"', 'SW-WAT-002', /humidity/],
    ['heat --volume "458 L" --loss "0 W/°C" --room "20 °C" --tank "25 °C"', 'SW-WAT-002', /loss/],
    ['loss --volume "458 L"', 'SW-WAT-003', /--night/],
    ['loss --volume "458 L" --night "8 h, 25 °C to 26 °C, room 20 °C, 10 Wh"', 'SW-WAT-004', /every source of heat/],
    ['loss --volume "458 L" --night "one night"', 'SW-WAT-001', /--night/],
    ['warm --volume "45 L" --from "26 °C" --to "20 °C" --heater "300 W"', 'SW-WAT-002', /a heater only warms/],
    ['oxygen --temperature "50 °C"', 'SW-WAT-002', /temperature/],
    ['oxygen --temperature "25 °C" --height "9,000 m"', 'SW-WAT-002', /height/],
    ['drain --display "7.5 L/cm" --film "1 cm" --siphon "6 cm" --outlet "1 cm"', 'SW-WAT-002', /outlet/],
    ['lead --wire "0.6 mm²" --length "5 m" --current "2 A" --supply "12 V"', 'SW-WAT-004', /0\.5, 0\.75, 1/],
    ['lead --wire "thick" --length "5 m" --current "2 A" --supply "12 V"', 'SW-WAT-001', /18 AWG/],
    ['lead --wire "24 AWG" --length "100 m" --current "5 A" --supply "12 V"', 'SW-WAT-004', /thicker wire/],
    ['lead --wire "18 AWG" --length "5 m" --current "2 A"', 'SW-WAT-003', /--supply "24 V"/],
    ['frobnicate', 'SW-CLI-001', /frobnicate/],
    ['salt --volum "45 L"', 'SW-CLI-015', /--volume/],
  ];
  for (const [call, code, words] of mistakes)
    test(call, async () => {
      const { code: exit, out, err } = await runMain(['water', ...wordsOf(call)]);
      assert.equal(exit, 1, `${out}${err}`);
      assert.equal(out, '');
      assert.match(err, new RegExp(`^${code} `));
      assert.match(err, words);
      assert.doesNotMatch(err, /\n\s+at /);
      assert.doesNotMatch(err, /\{\w+\}/, 'a placeholder without its value');
    });

  test('with --json the mistake is JSON as well', async () => {
    const { code, out } = await runMain(['water', 'gravity', '--salinity', '50 ppt', '--json']);
    assert.equal(code, 1);
    assert.equal((JSON.parse(out) as { error: { code: string } }).error.code, 'SW-WAT-002');
  });
});
