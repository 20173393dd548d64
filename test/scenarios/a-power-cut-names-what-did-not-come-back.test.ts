// Event 5 of the demo tank, on the whole service in virtual time: mains and network fail at 03:20, one mover runs on by
// battery; at 05:30 all but one strip comes back.
import assert from 'node:assert/strict';
import { before, describe, test } from 'node:test';
import { MINUTE_MS } from '../../src/units/index.ts';
import { type PowerCut, powerCut } from '../simulation/home/stories.ts';

describe('a power cut at night', () => {
  let story: PowerCut;
  before(async () => {
    story = await powerCut();
  });
  const told = (pattern: RegExp) => story.heard.filter(({ text }) => pattern.test(text));

  test('is told beside the hub, since the hub cannot be reached', () => {
    const [first] = story.heard;
    assert.equal(first?.way, 'beside the hub');
    assert.match(first?.text ?? '', /^The hub has not been reached for 10 min: nothing is seen/);
    assert.ok((first?.at ?? 0) - story.at <= 11 * MINUTE_MS);
  });

  test('ten minutes after it those that did not come back are named, and no other, with what a deputy does', () => {
    const dark = told(/^Nothing is heard of these plugs since the hub is back/);
    assert.deepEqual(dark.map(({ way }) => way).sort(), ['beside the hub', 'in the hub']);
    const [one] = dark;
    assert.match(one?.text ?? '', /for 10 min: Skimmer, Heater 1\. Without power\?/);
    assert.match(one?.text ?? '', /earth-leakage switch of a strip .* reset it once; .* call an electrician/);
    assert.match(one?.text ?? '', /start the session "Restart after a power cut"/);
    assert.ok((one?.at ?? 0) - story.hubBackAt <= 11 * MINUTE_MS);
    assert.deepEqual(
      story.listed.filter((text) => /Nothing is heard of the plugs of Skimmer, Heater 1/.test(text)).length,
      1,
    );
  });

  test('the water has lost about six tenths of a degree', () => {
    assert.ok(Math.abs(story.lostC - 0.6) <= 0.15, `${story.lostC} °C`);
  });

  test('nothing is started before a person begins the restart', () => {
    assert.equal(story.beforeSession, 0);
  });

  test('the restart waits for the plugs that do not answer, by name, until the deputy has reset their strip', () => {
    assert.equal(story.heldBy.length, 1, story.heldBy.join());
    assert.match(
      story.heldBy[0] ?? '',
      /^No fresh reading from switch\.skimmer,.*switch\.heater_1,.*Nothing is switched/,
    );
  });

  test('the strip is looked for before anything is switched; the skimmer waits for a steady level, the top-off for all', () => {
    const at = (id: string): number => story.steps.findIndex((step) => step.id === id);
    assert.ok(at('look:dark-plugs') !== -1 && at('look:dark-plugs') < at('off:top-off'));
    assert.ok(at('steady:skimmer') !== -1 && at('steady:skimmer') < at('on:skimmer'));
    const on = story.sent.filter(({ turn }) => turn === 'on').map(({ equipment }) => equipment);
    assert.deepEqual(on.slice(0, 3), ['circulation-right', 'circulation-left', 'return-pump']);
    assert.equal(on.at(-1), 'top-off');
    const skimmer = story.sent.find(({ equipment, turn }) => equipment === 'skimmer' && turn === 'on');
    const returned = story.sent.find(({ equipment, turn }) => equipment === 'return-pump' && turn === 'on');
    assert.ok((skimmer?.at ?? 0) - (returned?.at ?? 0) >= 10 * MINUTE_MS);
    assert.match(story.ended, /^complete: Back and proved: .*Skimmer/);
  });
});
