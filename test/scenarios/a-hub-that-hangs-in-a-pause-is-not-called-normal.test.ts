// Event 6 of the demo tank, on the whole service in virtual time: the return stands for a pause since 11:00, the hub hangs
// from 11:02 for 47 minutes, and nobody is at the tank.
import assert from 'node:assert/strict';
import { before, describe, test } from 'node:test';
import { MINUTE_MS, SECOND_MS } from '../../src/units/index.ts';
import { type HubHangs, hubHangs } from '../simulation/home/stories.ts';

describe('a hub that hangs in a pause', () => {
  let story: HubHangs;
  before(async () => {
    story = await hubHangs();
  });

  test('what is not known is never called normal', () => {
    assert.ok(story.during.length >= 46);
    for (const { hub, status } of story.during) assert.deepEqual([hub, status], ['down', 'held']);
    const after = story.during.slice(11);
    for (const { attention } of after) assert.match(attention.join(), /The hub has not been reached for \d+ min/);
    const said = story.heard.filter(({ at }) => at > story.at && at < story.backAt).map(({ text }) => text);
    assert.ok(!said.some((text) => /normal|all back|fine/i.test(text)), said.join('\n'));
  });

  test('at half an hour of the return the caretaker hears beside the hub to start it by hand', () => {
    const [warned] = story.heard.filter(({ text }) => text.startsWith('Return pump has been off for 30 min'));
    assert.equal(warned?.way, 'beside the hub');
    assert.match(
      warned?.text ?? '',
      /the hub cannot be reached: .*Take every hand out of the water, then start it by hand/,
    );
    const late = (warned?.at ?? 0) - story.returnOffAt - 30 * MINUTE_MS;
    assert.ok(late >= 0 && late <= 30 * SECOND_MS, `${late} ms late`);
  });

  test('nothing is sent while it is away, nor when it is back before a person has said so', () => {
    assert.deepEqual(
      story.sent.filter(({ at }) => at > story.at && at < story.resumedAt),
      [],
    );
  });

  test('then all is read again and the return is the first to come back', () => {
    const [first] = story.sent.filter(({ at }) => at > story.at);
    assert.deepEqual([first?.equipment, first?.turn], ['return-pump', 'on']);
    assert.ok((first?.at ?? 0) > story.resumedAt);
    assert.match(story.ended, /^complete: Back and proved: Return pump/);
  });
});
