import assert from 'node:assert/strict';
import { test } from 'node:test';
import fc from 'fast-check';
import {
  givenFor,
  resultJson,
  resultText,
  runTopic,
  TOPICS,
  type Topic,
  type TopicOption,
} from '../../../src/cli/water/index.ts';
import { SlackwaterError } from '../../../src/errors/index.ts';
import { kindDef, type QuantityKind, unitSymbols } from '../../../src/units/index.ts';
import { holds } from '../water/draw.ts';

/** Amounts from nothing over sensible to absurd. */
const amounts = fc.oneof(
  fc.constantFrom('0', '1', '-1', '35', '25', '1.025', '1e9', '-0', '1e-12', '0.5', '100'),
  fc.double({ min: -100, max: 2000, noNaN: true }).map((each) => String(Number(each.toPrecision(4)))),
);
const nonsense = fc.constantFrom('', 'abc', '12 parsecs', '1,5 L', 'NaN', '∞', '25 °C to', '8 h, 25 °C', '__proto__');

/** What could stand behind an option: its example mostly, an amount in any of its units often, nonsense now and then. */
function written({ takes, example }: TopicOption): fc.Arbitrary<string> {
  const usual = (): fc.Arbitrary<string> => {
    if (typeof takes === 'object') return fc.constantFrom(...takes.oneOf);
    if (takes === 'wire') return fc.tuple(amounts, fc.constantFrom('AWG', 'mm²')).map((parts) => parts.join(' '));
    if (takes === 'duration')
      return fc.tuple(amounts, fc.constantFrom('s', 'h', 'd', 'mo')).map((parts) => parts.join(' '));
    if (takes === 'convention') return fc.tuple(amounts, amounts).map(([a, b]) => `${a} °C / ${b} °C`);
    if (takes === 'number' || takes === 'flag') return amounts;
    if (takes === 'run') return fc.tuple(amounts, amounts).map(([a, b]) => `${a} L/h at ${b} °C`);
    if (takes === 'night')
      return fc
        .tuple(amounts, amounts, amounts, amounts)
        .map(([a, b, c, d]) => `${a} h, ${b} °C to ${c} °C, room ${d} °C, 300 Wh`);
    const units = unitSymbols(takes as QuantityKind);
    return fc.tuple(amounts, fc.constantFrom(...units)).map((parts) => parts.join(' '));
  };
  return fc.oneof(
    { arbitrary: fc.constant(example), weight: 24 },
    { arbitrary: usual(), weight: 6 },
    { arbitrary: nonsense, weight: 1 },
  );
}

function anyCall(topic: Topic): fc.Arbitrary<Record<string, string | boolean | readonly string[] | undefined>> {
  const fields = topic.options.map((option) => {
    const { name, takes, many } = option;
    const key = name.replace(/-([a-z])/g, (_, letter: string) => letter.toUpperCase());
    if (takes === 'flag') return [key, fc.boolean()] as const;
    const one = written(option);
    return [
      key,
      many === true ? fc.array(one, { maxLength: 5 }) : fc.option(one, { nil: undefined, freq: 5 }),
    ] as const;
  });
  return fc.record(Object.fromEntries(fields)) as fc.Arbitrary<
    Record<string, string | boolean | readonly string[] | undefined>
  >;
}

const look = { width: 100, paint: (_style: string, text: string) => text };

for (const topic of TOPICS)
  test(`${topic.name}: whatever is typed, an answer of finite numbers or a refusal from the catalogue`, (t) => {
    let answered = 0;
    holds(
      t,
      fc.property(anyCall(topic), fc.boolean(), (values, us) => {
        try {
          const result = runTopic(topic, givenFor(topic, values));
          const text = resultText(look, result, us);
          assert.doesNotMatch(text, /NaN|Infinity|unknown|undefined/, JSON.stringify(values));
          JSON.stringify(resultJson(topic.name, result, us), (_key, value: unknown) => {
            assert.ok(typeof value !== 'number' || Number.isFinite(value), JSON.stringify(values));
            return value;
          });
          const { value, low, high } = result.answer;
          if (low !== undefined && high !== undefined)
            assert.ok(low <= value + 1e-9 && value <= high + 1e-9, `${low} ${value} ${high} ${JSON.stringify(values)}`);
          answered += 1;
        } catch (error) {
          assert.ok(error instanceof SlackwaterError, `${JSON.stringify(values)}: ${String(error)}`);
          assert.match(error.code, /^SW-WAT-/);
          assert.doesNotMatch(`${error.message} ${error.whatToDo}`, /\{\w+\}|undefined/);
        }
      }),
      500,
    );
    t.diagnostic(`${answered} answered`);
    assert.ok(answered > 20, `only ${answered} answers: nothing was tried`);
  });

test('the option kinds that are drawn here are those there are', () => {
  const special = ['duration', 'number', 'wire', 'convention', 'flag', 'run', 'night'];
  for (const { options } of TOPICS)
    for (const { takes } of options)
      if (typeof takes === 'string' && !special.includes(takes))
        assert.ok(kindDef(takes as QuantityKind) !== undefined);
});
