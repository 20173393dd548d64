import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  findUnit,
  formatNumber,
  formatQuantity,
  KINDS,
  kindDef,
  parseNumber,
  parseQuantity,
  type QuantityKind,
  showQuantity,
} from '../../../src/units/index.ts';

const kinds = Object.keys(KINDS) as QuantityKind[];
const everyUnit = kinds.flatMap((kind) => kindDef(kind).units.map((unit) => ({ kind, unit })));

function value(kind: QuantityKind, text: string): number {
  const parsed = parseQuantity(kind, text);
  assert.ok(parsed.ok, `${text}: ${JSON.stringify(parsed)}`);
  return parsed.value;
}

describe('conversions against published definitions', () => {
  // NIST Special Publication 811 (2008), appendix B.8, and NIST Handbook 44 appendix C. Exact unless a tolerance is given.
  // Exact definitions of gallon, inch, pound and psi as these publications state them; the rest of the figures from memory.
  const rows: readonly (readonly [QuantityKind, string, number, number])[] = [
    ['volume', '1 gal', 3.785411784, 0], // Handbook 44: 231 cubic inches, exact
    ['volume', '1 qt', 0.946352946, 0], // Handbook 44: a quarter of it, exact
    ['volume', '1 UK gal', 4.54609, 0], // SP 811: 4.54609 L
    ['length', '1 in', 2.54, 0], // SP 811, exact
    ['length', '1 ft', 30.48, 0], // SP 811, exact
    ['mass', '1 lb', 453.59237, 0], // SP 811, exact
    ['mass', '1 oz', 28.349523125, 0], // a sixteenth of it; SP 811 prints 28.34952
    ['pressure', '1 psi', 0.06894757293168, 0], // 6894.757293168 Pa; SP 811 prints 6.894757 kPa
    ['pressure', '1 kPa', 0.01, 0], // 1 bar = 100 kPa
    ['temperature', '32 °F', 0, 1e-12], // ice point
    ['temperature', '212 °F', 100, 1e-12], // steam point
    ['temperature', '-40 °F', -40, 1e-12], // where the scales meet
    ['temperature', '77 °F', 25, 1e-12], // SP 811: (t - 32) / 1.8
    ['temperatureDifference', '1.8 °F', 1, 1e-12], // no offset
    ['flow', '75 gal/d', (75 * 3.785411784) / 24, 1e-12], // from the gallon
    ['flow', '1 ml/s', 3.6, 0],
    ['flow', '1 m³/h', 1000, 0],
    ['energy', '1 kWh', 1000, 0],
    ['share', '90 %', 0.9, 0],
    ['dissolved', '320 ppm', 320, 0], // in dilute water 1 mg/L is taken as 1 ppm: common practice, no source
  ];
  for (const [kind, text, expected, tolerance] of rows) {
    test(`${text} is ${expected} ${kindDef(kind).units[0].symbol}`, () => {
      const got = value(kind, text);
      assert.ok(Math.abs(got - expected) <= tolerance, `got ${got}`);
    });
  }
});

describe('reading', () => {
  test('takes spellings people use', () => {
    assert.equal(value('volume', '450L'), 450);
    assert.equal(value('volume', ' 450  litres '), 450);
    assert.equal(value('volume', '1,250.5 l'), 1250.5);
    assert.equal(value('temperature', '25.5 C'), 25.5);
    assert.equal(value('temperature', '25.5 º C'), 25.5);
    assert.equal(value('temperature', '−2 °C'), -2);
    assert.equal(value('count', '50,000 starts'), 50_000);
    assert.equal(value('count', '50000'), 50_000);
    assert.equal(value('dissolved', '27 mg / L'), 27);
    assert.equal(value('salinity', '35 psu'), 35);
  });

  test('both micro signs are one unit', () => {
    assert.equal(value('dissolved', '50 \u00b5g/L'), 0.05);
    assert.equal(value('dissolved', '50 \u03bcg/L'), 0.05);
  });

  test('says what it found, what belongs there, and an example', () => {
    assert.deepEqual(parseQuantity('volume', '450 W'), {
      ok: false,
      found: '"450 W" (a power)',
      expected: 'a volume in L, ml, m³, gal, UK gal, qt',
      example: '450 L or 120 gal',
    });
    const found = (kind: QuantityKind, text: string) => {
      const parsed = parseQuantity(kind, text);
      return parsed.ok ? parsed.value : parsed.found;
    };
    assert.equal(found('volume', '450'), '"450" (no unit)');
    assert.equal(found('volume', '1,5 L'), '"1,5 L" (a comma; decimals take a point)');
    assert.equal(found('volume', '450 furlongs'), '"450 furlongs" (unknown unit "furlongs")');
    assert.equal(found('volume', 'a lot'), '"a lot"');
    assert.equal(found('volume', ''), '""');
    assert.equal(found('volume', '1.2.3 L'), '"1.2.3 L"');
  });

  test('never yields a number that is not one', () => {
    fc.assert(
      fc.property(fc.constantFrom(...kinds), fc.string({ unit: 'grapheme', maxLength: 12 }), (kind, text) => {
        const parsed = parseQuantity(kind, text);
        if (parsed.ok) assert.ok(!Number.isNaN(parsed.value));
        else assert.ok(parsed.found.startsWith(`"${text}"`));
      }),
    );
  });
});

describe('round trip', () => {
  test('parse(format(x)) = x exactly in the inside unit of every kind', () => {
    for (const kind of kinds) {
      if (kindDef(kind).units[0].factor !== 1) continue;
      fc.assert(
        fc.property(fc.double({ noNaN: true, min: -1e9, max: 1e9 }), (x) => {
          assert.equal(value(kind, formatQuantity(kind, x)), x === 0 ? 0 : x);
        }),
      );
    }
  });

  for (const { kind, unit } of everyUnit) {
    test(`what a person writes in ${unit.symbol} (${kind}) comes out as it went in`, () => {
      // Nine digits are more than any label or gauge shows.
      const amounts = fc.tuple(fc.integer({ min: -999_999_999, max: 999_999_999 }), fc.integer({ min: 0, max: 4 }));
      fc.assert(
        fc.property(amounts, ([digits, places]) => {
          const written = digits / 10 ** places;
          const x = value(kind, `${written} ${unit.symbol}`);
          const text = formatQuantity(kind, x, unit.symbol);
          assert.equal(parseNumber(text.slice(0, -unit.symbol.length)), written, text);
          assert.equal(value(kind, text), x);
        }),
      );
    });
  }

  test('every spelling names one unit only', () => {
    for (const { kind, unit } of everyUnit) {
      for (const spelling of [unit.symbol, ...unit.also]) {
        assert.equal(findUnit(kind, spelling)?.symbol, unit.symbol, `${kind} ${spelling}`);
      }
    }
  });
});

describe('showing', () => {
  test('groups thousands, drops needless zeros, never shows a negative zero', () => {
    assert.equal(formatNumber(3096, 0), '3,096');
    assert.equal(formatNumber(1234567.5, 1), '1,234,567.5');
    assert.equal(formatNumber(48, 2), '48');
    assert.equal(formatNumber(100, 2), '100');
    assert.equal(formatNumber(-0.001, 1), '0');
    assert.equal(formatNumber(Number.NaN, 1), 'unknown');
    assert.equal(showQuantity('volume', 37.85411784, 1), '37.9 L');
    assert.equal(showQuantity('volume', 37.85411784, 1, 'gal'), '10 gal');
  });
});
