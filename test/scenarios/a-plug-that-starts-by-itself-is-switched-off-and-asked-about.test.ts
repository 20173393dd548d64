// Event 7 of the demo tank, on the whole service in virtual time: in the overhaul the plug of the barrel's heater reboots and
// starts by itself, with the barrel empty. The overhaul is lived to its end.
import assert from 'node:assert/strict';
import { before, describe, test } from 'node:test';
import { SECOND_MS } from '../../src/units/index.ts';
import { heaterRevives, type Revives } from '../simulation/home/stories.ts';

describe('a barrel heater that comes back on in the overhaul', () => {
  let story: Revives;
  before(async () => {
    story = await heaterRevives();
  });

  test('is told within two seconds, by the hub and beside it', () => {
    const alarms = story.heard.filter(({ text }) => /^Mixing heater was switched on by other hands/.test(text));
    assert.deepEqual(alarms.map(({ way }) => way).sort(), ['beside the hub', 'in the hub']);
    for (const { at } of alarms) assert.ok(at - story.at <= 2 * SECOND_MS, `${at - story.at} ms`);
  });

  test('is off again long before the forty seconds that it would have heated', () => {
    assert.deepEqual(
      story.sent.slice(0, 1).map(({ equipment, turn }) => [equipment, turn]),
      [['mixing-heater', 'off']],
    );
    assert.ok(story.offAt !== null && story.offAt - story.at <= 10 * SECOND_MS);
  });

  test('its start-up setting stays a question until a person has looked', () => {
    // New lamps are asked about, too.
    const asked = story.questions.filter((text) => /came on while a session kept it off/.test(text));
    assert.equal(asked.length, 1);
    assert.match(asked[0] ?? '', /^Mixing heater .*note it as startUp: off/);
  });

  test('the overhaul goes on to its end after a person has looked', () => {
    assert.match(story.ended, /^complete: Back and proved/);
  });
});
