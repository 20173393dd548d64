import assert from 'node:assert/strict';
import { after, before, describe, test } from 'node:test';
import { hasEscapes, type Ran, runMain, widest } from '../unit/cli/run-cli.ts';
import { type DemoService, demoService } from './demo-service.ts';

let demo: DemoService;
before(async () => {
  demo = await demoService({ behaviour: 'silent', historyDays: 30 });
});
after(() => demo.stop());

const ask = (...argv: readonly string[]): Promise<Ran> => runMain([...argv, '--config', demo.configFile]);
async function json<T>(...argv: readonly string[]): Promise<T> {
  const ran = await ask(...argv, '--json');
  assert.equal(ran.code, 0, ran.err);
  return JSON.parse(ran.out) as T;
}
async function text(...argv: readonly string[]): Promise<string> {
  const ran = await ask(...argv);
  assert.equal(ran.code, 0, ran.err);
  assert.ok(!hasEscapes(ran.out), 'no colour into a pipe');
  assert.ok(widest(ran.out) <= 100, `${widest(ran.out)} columns`);
  return ran.out;
}
async function refusal(...argv: readonly string[]): Promise<string> {
  const ran = await ask(...argv);
  assert.equal(ran.code, 1, ran.out);
  return ran.err;
}

type Figure = {
  readonly measure: string;
  readonly low: number;
  readonly best: number;
  readonly high: number;
  readonly unit: string;
};
type Usage = {
  readonly part: string;
  readonly life: number;
  readonly fittedAt: number;
  readonly measures: readonly Figure[];
  readonly pieces?: readonly { readonly piece: number; readonly usages: readonly Figure[] }[];
};
const usageOf = async (part: string): Promise<Usage> => {
  const found = (await json<Usage[]>('usage')).find((one) => one.part === part);
  assert.ok(found, part);
  return found;
};
const figure = (usage: { readonly measures: readonly Figure[] }, measure: string): Figure => {
  const found = usage.measures.find((one) => one.measure === measure);
  assert.ok(found, measure);
  return found;
};

describe('undo', () => {
  test('a "done" that was none is taken back, and the lamp has its hours again', async () => {
    const was = figure(await usageOf('uv-lamp'), 'on-hours');
    assert.match(await text('replaced', 'uv-lamp', '--note', 'wrong lamp'), /Recorded: UV lamp, number 2\./);
    assert.ok(figure(await usageOf('uv-lamp'), 'on-hours').best < 1);
    assert.match(await text('undo', 'uv-lamp'), /^Taken back: UV lamp replaced or serviced, number 2 begins;/);
    const is = await usageOf('uv-lamp');
    assert.equal(is.life, 1);
    assert.ok(figure(is, 'on-hours').best >= was.best && figure(is, 'on-hours').best < was.best + 1);
    assert.match(await refusal('undo', 'uv-lamp'), /SW-REC-010|nothing to take back/);
  });
});

describe('some of a set', () => {
  test('two tubes of a lamp: the set stays as old as the third, and each tube tells its own', async () => {
    const [set] = (await json<Usage[]>('usage')).filter((one) => /tubes/.test(one.part));
    assert.ok(set);
    const before = figure(set, 'on-hours').best;
    const usage = await json<Usage>('replaced', set.part, '--which', '1');
    assert.equal(usage.life, set.life);
    assert.ok(figure(usage, 'on-hours').best >= before);
    assert.ok((usage.pieces?.length ?? 0) >= 2);
    const own = usage.pieces?.map(({ usages }) => figure({ measures: usages }, 'on-hours').best) ?? [];
    assert.ok((own[0] ?? 1) < 1 && (own[1] ?? 0) >= before, JSON.stringify(own));
    assert.match(await text('usage'), /\npiece 1 +0(\.\d+)? h /);
    assert.match(await refusal('replaced', set.part, '--pieces', '99'), /pieces; "99" does not name/);
    assert.match(await refusal('replaced', set.part, '--pieces', 'two'), /--pieces got "two"/);
    await json('undo', set.part);
    assert.equal((await usageOf(set.part)).pieces, undefined);
  });

  test('a spare is refused where none takes turns', async () => {
    assert.match(await refusal('replaced', 'uv-lamp', '--with', 'other-lamp'), /no spares that take turns/);
    assert.match(await refusal('replaced', 'uv-lamp', '--as-new'), /--as-new/);
  });
});

describe('seed', () => {
  test('the word of a keeper with its bounds, and taken back', async () => {
    const was = await usageOf('uv-lamp');
    const usage = await json<Usage>('seed', 'uv-lamp', '--fitted', '2026-01-15', '--used', '4,000 h to 5,000 h');
    const { low, best, high } = figure(usage, 'on-hours');
    assert.ok(low >= 4000 && low < 4001 && best >= 4500 && best < 4501 && high >= 5000 && high < 5001);
    assert.match(await text('seed', 'uv-lamp', '--fitted', '2026-01-20'), /Recorded: UV lamp, fitted 2026-01-20\./);
    await json('undo', 'uv-lamp');
    await json('undo', 'uv-lamp');
    assert.equal((await usageOf('uv-lamp')).fittedAt, was.fittedAt);
  });

  test('amounts that do not fit are refused with an example', async () => {
    assert.match(await refusal('seed', 'uv-lamp', '--fitted', '2026-01-15', '--used', '40 L'), /"1,200 h"/);
    assert.match(await refusal('seed', 'uv-lamp', '--fitted', 'last year'), /--fitted got "last year"/);
    assert.match(await refusal('seed', 'uv-lamp'), /--fitted/);
    assert.match(await refusal('seed', 'uv-lump', '--fitted', '2026-01-15'), /Did you mean "uv-lamp"/);
  });
});

describe('usage --period', () => {
  test('today within the week within the month, in bounds and in the zone of the tank', async () => {
    type Period = { readonly part: string; readonly from: number; readonly measures: readonly Figure[] };
    const of = async (period: string): Promise<Period> => {
      const found = (await json<Period[]>('usage', '--period', period)).find((one) => one.part === 'uv-lamp');
      assert.ok(found);
      return found;
    };
    const [today, week, month, lifetime] = [
      await of('today'),
      await of('week'),
      await of('month'),
      await of('lifetime'),
    ];
    const hours = (one: Period): Figure => figure(one, 'on-hours');
    for (const one of [today, week, month, lifetime]) {
      const { low, best, high } = hours(one);
      assert.ok(low <= best && best <= high, JSON.stringify(hours(one)));
    }
    assert.ok(hours(today).best <= 24);
    assert.ok(hours(today).best <= hours(week).best + 1e-9 && week.from <= today.from);
    assert.ok(hours(month).high <= 31 * 24);
    assert.ok(hours(month).best <= hours(lifetime).best + 1e-9);
    const local = new Intl.DateTimeFormat('en-GB', { timeZone: demo.timeZone, hour: '2-digit', minute: '2-digit' });
    assert.equal(local.format(new Date(today.from)), '00:00');
    assert.match(await text('usage', '--period', 'service'), /^Part +Used \(bounds\) +From\n/);
    assert.match(await refusal('usage', '--period', 'year'), /one of today, week, month, service, lifetime/);
  });
});

describe('status, questions, resets', () => {
  test('status says how the service is', async () => {
    const told = await text('status');
    assert.match(told, /Hub +connected \(/);
    assert.match(told, /Clock of the hub +within a second of ours/);
    assert.match(told, /Counting since +20\d\d-/);
    assert.match(told, /Questions +none/);
    const status = await json<{ openQuestions: number; warnings: unknown[]; countingSince: number }>('status');
    assert.equal(status.openQuestions, 0);
    assert.deepEqual(status.warnings, []);
    assert.ok(status.countingSince > 0);
  });

  test('questions wait for an answer of a person, which is kept', async () => {
    assert.match(await text('questions'), /Nothing is asked\./);
    assert.match(await refusal('answer', 'no-such', 'yes'), /no open question "no-such"; open: none/);
  });

  test('resets have the readings before and after', async () => {
    const resets = await json<{ counter: string; before: number; after: number }[]>('resets');
    for (const { before: from, after: to } of resets) assert.ok(to < from);
    assert.match(await text('resets'), resets.length === 0 ? /No meter was reset/ : /^When +Counter +Before +After\n/);
  });
});

describe('source', () => {
  test('a counter that is not there, an entity that is none', async () => {
    assert.match(await refusal('source', 'replace', 'uv-lomp', '--entity', 'switch.x'), /no counter or equipment/);
    assert.match(await refusal('source', 'replace', 'uv-lamp', '--entity', 'nonsense'), /--entity got "nonsense"/);
  });
});

describe('recount', () => {
  type Recount = { readonly old: Figure; readonly now: Figure; readonly keptMinutes: number; readonly taken: boolean };
  test('from the minutes of power that were kept: shown first, taken on demand, and taken back', async () => {
    const was = figure(await usageOf('lamp-1-tubes'), 'on-hours');
    const shown = await json<Recount>('recount', 'lamp-1-tubes', '--threshold', '60 W');
    assert.ok(shown.keptMinutes > 29 * 1440, String(shown.keptMinutes));
    assert.equal(shown.taken, false);
    // The same threshold as counting has: what was seen agrees to the minutes in which the lamp was switched.
    assert.ok(Math.abs(shown.now.low - shown.old.low) < 3, JSON.stringify(shown));
    const high = await json<Recount>('recount', 'lamp-1-tubes', '--threshold', '900 W');
    assert.equal(high.now.low, 0);
    const told = await ask('recount', 'lamp-1-tubes', '--threshold', '60 W');
    assert.match(told.out, /Nothing was changed\. To take the new figure:\n {2}.*--threshold "60 W" --yes\n$/);
    const taken = await json<Recount>('recount', 'lamp-1-tubes', '--threshold', '60 W', '--yes');
    const is = figure(await usageOf('lamp-1-tubes'), 'on-hours');
    assert.ok(taken.taken && Math.abs(is.low - taken.now.low) < 1);
    await json('undo', 'lamp-1-tubes');
    assert.ok(Math.abs(figure(await usageOf('lamp-1-tubes'), 'on-hours').high - was.high) < 1);
  });

  test('says what is wrong with a threshold', async () => {
    assert.match(await refusal('recount', 'uv-lamp', '--threshold', '20'), /--threshold got "20"/);
  });
});
