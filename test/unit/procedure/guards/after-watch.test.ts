import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import type { Tank } from '../../../../src/model/index.ts';
import {
  type AfterWatchEffect,
  type AfterWatchInput,
  type AfterWatchState,
  afterWatchContext,
  afterWatchStep,
  NOTHING_WATCHED,
  restoredWatches,
} from '../../../../src/procedure/guards/index.ts';
import type { SessionState } from '../../../../src/procedure/index.ts';
import { HOUR, MINUTE, T0, TANK } from './bench.ts';

const DAY = 24 * HOUR;

/** As much of a session that ended as the watch looks at. */
const session = (outOfService: readonly string[], more: Partial<SessionState> = {}): SessionState =>
  ({
    id: 's1',
    plan: { procedure: 'x', title: 'Skimmer service', outOfService, steps: [], handled: [], cautions: [], notes: [] },
    offNow: [],
    baseline: {
      'sensor.skimmer_power': 26,
      'sensor.heater_power': 0,
      'sensor.return_power': 48,
      'sensor.level': 20,
      'sensor.temperature': 25.4,
    },
    ...more,
  }) as unknown as SessionState;

function eye(tank: Tank = TANK) {
  const ctx = afterWatchContext(tank);
  const effects: AfterWatchEffect[] = [];
  const self = {
    ctx,
    effects,
    at: T0,
    state: NOTHING_WATCHED as AfterWatchState,
    step: (input: AfterWatchInput): void => {
      const [next, made] = afterWatchStep(self.state, input, ctx);
      self.state = next;
      effects.push(...made);
    },
    /** Every ten minutes the same figures, for so long. */
    live: (ms: number, values: Readonly<Record<string, number | null>>): void => {
      for (let left = ms; left > 0; left -= 10 * MINUTE) {
        self.at += 10 * MINUTE;
        const { at } = self;
        const readings = Object.entries(values).map(([entity, value]) => ({
          entity,
          value,
          changedAt: at,
          reportedAt: at,
        }));
        self.step({ kind: 'readings', at, readings });
      }
    },
    of: (kind: AfterWatchEffect['kind']) => effects.filter((effect) => effect.kind === kind),
    text: (kind: 'say' | 'ask' | 'alarm') =>
      effects.flatMap((effect) => (effect.kind === kind ? [effect.text] : [])).at(-1) ?? '',
  };
  return self;
}

/** The tank with a lamp that its schedule rests at night. */
const LIT: Tank = {
  ...TANK,
  equipment: [
    ...TANK.equipment,
    {
      ...{ id: 'lamp', name: 'Lamp', role: 'fluorescent-bank', cycling: false, inSump: false, switchDelayMs: 0 },
      ...{
        driver: { kind: 'schedule', entity: 'automation.lamp' },
        switchEntity: 'switch.lamp',
        powerEntity: 'sensor.lamp_power',
      },
    },
  ],
};
const relit = (): SessionState => session(['lamp'], { baseline: { 'sensor.lamp_power': 171 } });

const GOOD = { 'sensor.skimmer_power': 26.4, 'sensor.level': 20.1, 'sensor.temperature': 25.6 };

describe('after a session', () => {
  test('the skimmer is watched for a week, the rest for a day; then it says that all is back', () => {
    const e = eye();
    e.step({ kind: 'session-over', at: e.at, session: session(['skimmer']) });
    e.live(7 * DAY - HOUR, GOOD);
    assert.deepEqual(
      e.effects.map(({ kind }) => kind),
      ['record'],
    );
    e.live(2 * HOUR, GOOD);
    assert.match(
      e.text('say'),
      /^After skimmer service: all back\. skimmer 26\.4 W \(was 26 W\), level 20\.1 cm \(was 20 cm\)/,
    );
    assert.deepEqual(e.state.watches, []);
  });

  test('a return pump is watched for a day', () => {
    const e = eye();
    e.step({ kind: 'session-over', at: e.at, session: session(['return']) });
    e.live(DAY + 10 * MINUTE, { 'sensor.return_power': 47, 'sensor.level': 20, 'sensor.temperature': 25 });
    assert.match(e.text('say'), /all back/);
  });

  test('what stays away for half an hour is told before the end, and taken back when it comes near', () => {
    const e = eye();
    e.step({ kind: 'session-over', at: e.at, session: session(['skimmer']) });
    e.live(2 * HOUR, { ...GOOD, 'sensor.skimmer_power': 14 });
    assert.match(e.text('alarm'), /^After skimmer service: skimmer 14 W \(was 26 W\)\.$/);
    assert.equal(e.of('alarm').length, 1);
    e.live(3 * HOUR, GOOD);
    assert.equal(e.of('alarm-over').length, 1);
  });

  test('one odd figure is no news', () => {
    const e = eye();
    e.step({ kind: 'session-over', at: e.at, session: session(['skimmer']) });
    e.live(HOUR, GOOD);
    e.live(10 * MINUTE, { ...GOOD, 'sensor.skimmer_power': 40, 'sensor.level': 22 });
    e.live(HOUR, GOOD);
    assert.deepEqual(e.of('alarm'), []);
  });

  test('what is not back at the end is listed and asked about', () => {
    const e = eye();
    e.step({ kind: 'session-over', at: e.at, session: session(['skimmer']) });
    e.live(7 * DAY + HOUR, { ...GOOD, 'sensor.skimmer_power': 18 });
    assert.match(e.text('ask'), /not all is back\. Not as before: skimmer 18 W \(was 26 W\)\. As before: level/);
    assert.deepEqual(e.of('say'), []);
  });

  test('unknown is not back', () => {
    const e = eye();
    e.step({ kind: 'session-over', at: e.at, session: session(['skimmer']) });
    e.live(7 * DAY + HOUR, { ...GOOD, 'sensor.skimmer_power': null });
    assert.match(e.text('ask'), /Not known: skimmer unknown \(was 26 W\)/);
  });

  test('what works only now and then must be seen at work once', () => {
    const seen = eye();
    seen.step({ kind: 'session-over', at: seen.at, session: session(['heater']) });
    seen.live(HOUR, { 'sensor.heater_power': 0 });
    seen.live(HOUR, { 'sensor.heater_power': 197 });
    seen.live(DAY, { 'sensor.heater_power': 0, 'sensor.level': 20, 'sensor.temperature': 25.4 });
    assert.match(seen.text('say'), /heater works/);
    const not = eye();
    not.step({ kind: 'session-over', at: not.at, session: session(['heater']) });
    not.live(DAY + HOUR, { 'sensor.heater_power': 0, 'sensor.level': 20, 'sensor.temperature': 25.4 });
    assert.match(not.text('ask'), /Not known: heater was not seen at work yet/);
  });

  test('a pulsing pump is near its usual watts although the last reading before was not', () => {
    const e = eye();
    const pulsing = session(['circulation'], { baseline: { 'sensor.circulation_power': 9 } } as never);
    e.step({ kind: 'session-over', at: e.at, session: pulsing });
    e.live(DAY + HOUR, { 'sensor.circulation_power': 22 });
    assert.match(e.text('say'), /all back/);
  });

  test('what is still off is not watched but listed elsewhere', () => {
    const e = eye();
    e.step({ kind: 'session-over', at: e.at, session: session(['skimmer'], { offNow: ['skimmer'] }) });
    assert.deepEqual(e.effects, []);
  });

  test('a later session pauses it and takes over what it touches', () => {
    const e = eye();
    e.step({ kind: 'session-over', at: e.at, session: session(['skimmer', 'return']) });
    e.step({ kind: 'session-open', at: e.at });
    e.live(HOUR, { ...GOOD, 'sensor.skimmer_power': 0, 'sensor.return_power': 0 });
    assert.deepEqual(e.of('alarm'), []);
    e.step({ kind: 'session-over', at: e.at, session: session(['skimmer'], { id: 's2' }) });
    assert.deepEqual(
      e.state.watches.map((watch) => [watch.session, watch.items.map(({ id }) => id)]),
      [
        ['s1', ['watts:return']],
        ['s2', ['watts:skimmer', 'level:level', 'temperature:temperature']],
      ],
    );
  });
});

describe('through a restart', () => {
  test('a watch goes on with what it gathered, and from its record where that was lost', () => {
    const e = eye();
    e.step({ kind: 'session-over', at: e.at, session: session(['skimmer']) });
    e.live(HOUR, GOOD);
    const records = e.effects.flatMap((effect) => (effect.kind === 'record' ? [effect] : []));
    const kept = JSON.parse(JSON.stringify(e.state.watches));
    assert.deepEqual(restoredWatches(records, kept), e.state.watches);
    assert.equal(restoredWatches(records, [])[0]?.items[0]?.now, null);
    const again = eye();
    again.at = e.at;
    again.state = { ...NOTHING_WATCHED, watches: restoredWatches(records, kept) };
    again.live(7 * DAY, GOOD);
    assert.match(again.text('say'), /all back/);
    const ended = again.effects.flatMap((effect) => (effect.kind === 'record' ? [effect] : []));
    assert.deepEqual(restoredWatches([...records, ...ended], kept), []);
  });
});

describe('a lamp that its schedule rests', () => {
  test('dark hours say nothing: it is back by its watts of the day', () => {
    const e = eye(LIT);
    e.step({ kind: 'session-over', at: e.at, session: relit() });
    e.live(2 * HOUR, { 'sensor.lamp_power': 170 });
    e.live(23 * HOUR, { 'sensor.lamp_power': 0 });
    assert.equal(e.text('alarm'), '');
    assert.match(e.text('say'), /all back\. Lamp 170 W \(was 171 W\)/);
  });

  test('a tube that burns no more is told all the same, and one never seen lit is not known', () => {
    const e = eye(LIT);
    e.step({ kind: 'session-over', at: e.at, session: relit() });
    e.live(HOUR, { 'sensor.lamp_power': 114 });
    assert.match(e.text('alarm'), /Lamp 114 W \(was 171 W\)/);
    const dark = eye(LIT);
    dark.step({ kind: 'session-over', at: dark.at, session: relit() });
    dark.live(25 * HOUR, { 'sensor.lamp_power': 0 });
    assert.match(dark.text('ask'), /Not known: Lamp unknown/);
  });
});
