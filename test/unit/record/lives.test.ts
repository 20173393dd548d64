import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import { SlackwaterError } from '../../../src/errors/index.ts';
import type { Actor, Bounds, Part, PartLife, Usage } from '../../../src/model/index.ts';
import {
  fitPart,
  fitPieces,
  fitSpare,
  type JournalEntry,
  type JournalRow,
  lifeUsage,
  livesFrom,
  pieceUsages,
  presentLives,
  putOffs,
  readEntry,
  seedPart,
  serviceRecord,
  undoLatest,
} from '../../../src/record/index.ts';
import { DAY_MS, HOUR_MS } from '../../../src/units/index.ts';
import { exact, lamp, sourcesOf } from './tank.ts';

const T0 = Date.UTC(2025, 0, 1);
const day = (n: number): number => T0 + n * DAY_MS;
const ana: Actor = { kind: 'person', name: 'Ana', via: 'hub' };
const code = (run: () => unknown): string => {
  try {
    run();
  } catch (error) {
    assert.ok(error instanceof SlackwaterError);
    return error.code;
  }
  return 'none';
};

/** A counter that has run 8 h a day since T0 and was read this very moment. */
const at = (now: number, hoursADay = 8) =>
  sourcesOf({ folded: exact(((now - T0) / DAY_MS) * hoursADay), countingSince: T0, lastAt: now });

/** What a store keeps of one part: journal, lives by number. */
class Shelf {
  rows: JournalRow[] = [];
  lives = new Map<number, PartLife>();
  readonly part: Part;
  constructor(part: Part) {
    this.part = part;
  }
  put(life: PartLife, entry: JournalEntry, ended: PartLife | null): void {
    this.rows.push({ seq: this.rows.length + 1, entry: readEntry(JSON.stringify(entry)) });
    if (ended !== null) this.lives.set(ended.number, ended);
    this.lives.set(life.number, life);
  }
  all(): readonly PartLife[] {
    return livesFrom([this.part], [...this.lives.values()]).get(this.part.id) ?? [];
  }
  present(): PartLife | null {
    return presentLives(livesFrom([this.part], [...this.lives.values()])).get(this.part.id) ?? null;
  }
  input(now: number, fittedAt = now) {
    return { part: this.part, present: this.present(), now, fittedAt, by: ana, sources: at(now) };
  }
  fit(now: number, fittedAt = now): void {
    const { life, entry, ended } = fitPart(this.input(now, fittedAt));
    this.put(life, entry, ended);
  }
  fitSome(now: number, count: number): void {
    const { life, entry, ended } = fitPieces({ ...this.input(now), which: { count } });
    this.put(life, entry, ended);
  }
  turn(now: number, spare: string, asNew = false): void {
    const { life, entry, ended } = fitSpare({ ...this.input(now), spare, asNew, lives: this.all() });
    this.put(life, entry, ended);
  }
  seed(now: number, fittedAt: number, used: Partial<Record<'on-hours', Bounds>>): void {
    const { life, entry } = seedPart({ ...this.input(now, fittedAt), used });
    this.put(life, entry, null);
  }
  undo(now: number): void {
    const { part, rows } = this;
    const { life, entry, restored } = undoLatest({ part, rows, stored: [...this.lives.values()], now, by: ana });
    this.put(life, entry, restored);
  }
  hours(now: number): Usage {
    const found = lifeUsage(this.part, this.present(), now, at(now)).find(({ measure }) => measure === 'on-hours');
    assert.ok(found);
    return found;
  }
}

const set: Part = { ...lamp, pieces: 3, fittedAt: day(0) };
const wetEnd: Part = { ...lamp, id: 'wet-end', name: 'Wet end', fittedAt: day(0), spares: ['wet-end-a', 'wet-end-b'] };
const near = (a: number, b: number): void => assert.ok(Math.abs(a - b) < 1e-6, `${a} is not ${b}`);

describe('undo', () => {
  test('taking back a "done" brings the life before back with its hours', () => {
    const shelf = new Shelf({ ...lamp, fittedAt: day(0) });
    shelf.fit(day(100));
    near(shelf.hours(day(110)).best, 80);
    shelf.undo(day(110));
    assert.equal(shelf.present()?.number, 1);
    near(shelf.hours(day(110)).best, 880);
    shelf.fit(day(120));
    assert.equal(shelf.present()?.number, 2);
    near(shelf.hours(day(130)).best, 80);
  });

  test('a "later" that a fitting ended holds again', () => {
    const shelf = new Shelf({ ...lamp, fittedAt: day(0) });
    shelf.rows.push({
      seq: 1,
      entry: { v: 1, kind: 'put-off', at: day(99), part: 'lamp', until: day(130), by: 'Ana' },
    });
    shelf.fit(day(100));
    assert.equal(putOffs(shelf.rows).size, 0);
    shelf.undo(day(101));
    assert.equal(putOffs(shelf.rows).get('lamp')?.until, day(130));
  });

  test('with nothing recorded there is nothing to take back', () => {
    const shelf = new Shelf({ ...lamp, fittedAt: day(0) });
    assert.equal(
      code(() => shelf.undo(day(1))),
      'SW-REC-010',
    );
    shelf.fit(day(2));
    shelf.undo(day(3));
    assert.equal(
      code(() => shelf.undo(day(4))),
      'SW-REC-010',
    );
  });

  test('a part nobody gave a date for is without one again', () => {
    const shelf = new Shelf(lamp);
    shelf.fit(day(5));
    shelf.undo(day(6));
    assert.equal(shelf.present(), null);
  });

  test('undo after anything is as if it had not been done', () => {
    const action = fc.constantFrom('fit', 'some', 'turn', 'new', 'seed');
    fc.assert(
      fc.property(fc.array(action, { minLength: 1, maxLength: 8 }), fc.boolean(), (actions, isSet) => {
        const shelf = new Shelf(isSet ? set : wetEnd);
        let now = day(100);
        for (const name of actions) {
          const before = { present: shelf.present(), all: shelf.all(), hours: shelf.hours(now) };
          const seqs = shelf.rows.length;
          const run = (): void => {
            if (name === 'fit') shelf.fit(now);
            if (name === 'some') shelf.fitSome(now, 1 + (now % 2));
            if (name === 'turn') shelf.turn(now, shelf.present()?.spare === 'wet-end-b' ? 'wet-end-a' : 'wet-end-b');
            if (name === 'new') shelf.turn(now, 'wet-end-a', true);
            if (name === 'seed') shelf.seed(now, day(10), { 'on-hours': { low: 5, best: 6, high: 9 } });
          };
          if (code(run) !== 'none') continue;
          assert.equal(shelf.rows.length, seqs + 1);
          shelf.undo(now);
          assert.deepEqual(shelf.present(), before.present);
          assert.deepEqual(shelf.all(), before.all);
          assert.deepEqual(shelf.hours(now), before.hours);
          run();
          now += 10 * DAY_MS;
        }
      }),
      { numRuns: 1000 },
    );
  });
});

describe('back-dating', () => {
  test('between the old and the new one no hour is lost or counted twice, also in the hour that the date cuts', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 47 * 60 }), fc.integer({ min: 0, max: 60 }), (minutes, onMinutes) => {
        const now = T0 + 48 * HOUR_MS;
        const perHour = onMinutes / 60;
        const slices = Array.from({ length: 48 }, (_, i) => ({ hour: T0 + i * HOUR_MS, add: exact(perHour) }));
        const sources = sourcesOf({ folded: exact(48 * perHour), countingSince: T0, lastAt: now, slices });
        const part = { ...lamp, fittedAt: T0 };
        const present = { part: 'lamp', number: 1, fittedAt: T0, fittedBy: 'x' };
        const fittedAt = T0 + minutes * 60_000;
        const { ended, life } = fitPart({ part, present, now, fittedAt, by: ana, sources });
        const old = ended?.usageAtRemoval?.['on-hours'];
        const fresh = lifeUsage(part, life, now, sources).find(({ measure }) => measure === 'on-hours');
        assert.ok(old && fresh);
        near(old.best + fresh.best, 48 * perHour);
        // Whichever minutes of the cut hour were lit, both stay inside their bounds.
        const whole = Math.floor(minutes / 60);
        const cut = minutes % 60;
        const least = Math.max(0, onMinutes - (60 - cut)) / 60;
        const most = Math.min(cut, onMinutes) / 60;
        for (const truth of [least, most]) {
          assert.ok(old.low <= whole * perHour + truth + 1e-9 && whole * perHour + truth <= old.high + 1e-9);
          const rest = 48 * perHour - whole * perHour - truth;
          assert.ok(fresh.low <= rest + 1e-9 && rest <= fresh.high + 1e-9);
        }
      }),
      { numRuns: 1000 },
    );
  });
});

describe('two of three tubes', () => {
  test('the set is as old as the tube that stayed, and each tube tells its own hours', () => {
    const shelf = new Shelf(set);
    shelf.fitSome(day(100), 2);
    assert.equal(shelf.present()?.number, 1);
    near(shelf.hours(day(110)).best, 880);
    const pieces = pieceUsages(set, shelf.present(), day(110), at(day(110)));
    assert.deepEqual(
      pieces.map(({ piece, fittedAt, usages }) => [
        piece,
        fittedAt,
        Math.round(usages.find(({ measure }) => measure === 'on-hours')?.best ?? -1),
      ]),
      [
        [1, day(100), 80],
        [2, day(100), 80],
        [3, day(0), 880],
      ],
    );
  });

  test('when the last old tube goes, a new life begins that is as old as the other two', () => {
    const shelf = new Shelf(set);
    shelf.fitSome(day(100), 2);
    shelf.fitSome(day(150), 1);
    const life = shelf.present();
    assert.equal(life?.number, 2);
    assert.equal(life?.fittedAt, day(100));
    near(shelf.hours(day(160)).best, 480);
    near(shelf.all()[0]?.usageAtRemoval?.['on-hours']?.best ?? 0, 1200);
    near(lifeUsage(set, life, day(160), at(day(160))).find(({ measure }) => measure === 'days')?.best ?? 0, 60);
  });

  test('tubes can be named by their places; all of them at once are a whole new set', () => {
    const shelf = new Shelf(set);
    const { life } = fitPieces({ ...shelf.input(day(50)), which: { places: [2] } });
    assert.deepEqual(
      life.pieces?.map(({ fittedAt }) => fittedAt),
      [day(0), day(50), day(0)],
    );
    shelf.fitSome(day(60), 1);
    shelf.fit(day(70));
    assert.equal(shelf.present()?.pieces, undefined);
    near(shelf.hours(day(80)).best, 80);
  });

  test('refused: more than there are, none, a place that is not there, an unknown age, a single piece', () => {
    const shelf = new Shelf(set);
    const some = (which: Parameters<typeof fitPieces>[0]['which'], part = set) =>
      code(() => fitPieces({ ...new Shelf(part).input(day(50)), which }));
    assert.equal(some({ count: 3 }), 'SW-REC-005');
    assert.equal(some({ count: 0 }), 'SW-REC-005');
    assert.equal(some({ places: [4] }), 'SW-REC-005');
    assert.equal(some({ count: 1 }, { ...lamp, pieces: 3 }), 'SW-REC-006');
    assert.equal(some({ count: 1 }, { ...lamp, fittedAt: day(0) }), 'SW-REC-005');
    shelf.fitSome(day(100), 2);
    // Back-dated to before the piece it replaces was there.
    assert.equal(
      code(() => fitPieces({ ...shelf.input(day(120), day(90)), which: { places: [1] } })),
      'SW-REC-004',
    );
  });

  test('whatever is replaced when, the set is as used as its most used piece', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 1, max: 3 }), { minLength: 1, maxLength: 10 }), (counts) => {
        const shelf = new Shelf(set);
        const truth = [day(0), day(0), day(0)];
        let now = day(20);
        for (const count of counts) {
          if (count === 3) shelf.fit(now);
          else shelf.fitSome(now, count);
          const oldest = [0, 1, 2].sort((a, b) => (truth[a] ?? 0) - (truth[b] ?? 0) || a - b).slice(0, count);
          for (const place of oldest) truth[place] = now;
          now += 7 * DAY_MS;
          near(shelf.hours(now).best, ((now - Math.min(...truth)) / DAY_MS) * 8);
        }
      }),
      { numRuns: 1000 },
    );
  });
});

describe('two wet ends taking turns', () => {
  test('each resumes what it had, also its age; the one on the shelf does not wear', () => {
    const shelf = new Shelf(wetEnd);
    shelf.turn(day(100), 'wet-end-b');
    near(shelf.hours(day(130)).best, 240);
    shelf.turn(day(130), 'wet-end-a');
    near(shelf.hours(day(130)).best, 800);
    near(shelf.hours(day(140)).best, 880);
    const age = lifeUsage(wetEnd, shelf.present(), day(140), at(day(140))).find(({ measure }) => measure === 'days');
    near(age?.best ?? 0, 110);
    shelf.turn(day(140), 'wet-end-b');
    near(shelf.hours(day(150)).best, 320);
  });

  test('one that was overhauled begins anew, in or out', () => {
    const shelf = new Shelf(wetEnd);
    shelf.turn(day(50), 'wet-end-b');
    shelf.turn(day(60), 'wet-end-a', true);
    near(shelf.hours(day(70)).best, 80);
    shelf.turn(day(80), 'wet-end-a', true);
    near(shelf.hours(day(90)).best, 80);
  });

  test('refused: an unknown spare, the one that is in, a part without spares', () => {
    const shelf = new Shelf(wetEnd);
    assert.equal(
      code(() => shelf.turn(day(5), 'wet-end-c')),
      'SW-REC-008',
    );
    assert.equal(
      code(() => shelf.turn(day(5), 'wet-end-a')),
      'SW-REC-009',
    );
    assert.equal(
      code(() => new Shelf({ ...lamp, fittedAt: day(0) }).turn(day(5), 'x')),
      'SW-REC-007',
    );
  });

  test('usage of a rotable is the sum of its stints', () => {
    const turn = fc.record({
      spare: fc.constantFrom('wet-end-a', 'wet-end-b', 'wet-end-c'),
      days: fc.integer({ min: 1, max: 40 }),
    });
    fc.assert(
      fc.property(fc.array(turn, { minLength: 1, maxLength: 12 }), (turns) => {
        const shelf = new Shelf({ ...wetEnd, spares: ['wet-end-a', 'wet-end-b', 'wet-end-c'] });
        const sums = new Map<string, number>();
        let inside = 'wet-end-a';
        let now = day(0);
        for (const { spare, days } of turns) {
          now += days * DAY_MS;
          sums.set(inside, (sums.get(inside) ?? 0) + days * 8);
          near(shelf.hours(now).best, sums.get(inside) ?? 0);
          if (spare === inside) continue;
          shelf.turn(now, spare);
          inside = spare;
          near(shelf.hours(now).best, sums.get(inside) ?? 0);
        }
      }),
      { numRuns: 1000 },
    );
  });
});

describe('the record of all that', () => {
  test('says what was done in words', () => {
    const shelf = new Shelf(wetEnd);
    shelf.turn(day(100), 'wet-end-b');
    shelf.undo(day(101));
    shelf.seed(day(102), day(-30), { 'on-hours': exact(1000) });
    const tubes = new Shelf(set);
    tubes.fitSome(day(100), 2);
    assert.deepEqual(
      [...serviceRecord(shelf.rows, () => 'Wet end'), ...serviceRecord(tubes.rows, () => 'Tubes')].map(
        ({ what }) => what,
      ),
      [
        'Wet end: wet-end-b is in, as new; wet-end-a had 800 h, 100 d',
        'Wet end: the last entry was taken back',
        'Wet end: fitted 2024-12-02, 1,000 h on it',
        'Tubes: 2 of the pieces replaced; 1 had 800 h, 100 d; 2 had 800 h, 100 d',
      ],
    );
  });
});
