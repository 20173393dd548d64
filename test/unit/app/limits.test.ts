import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { SlackwaterError } from '../../../src/errors/index.ts';
import { ana, type KeeperHome, keeperHome } from './keeper-home.ts';

const YAML = `tank: { name: Bench, zone: UTC, volume: 200 L }
hub: { url: http://hub, token: { env: T } }
equipment:
  pump: { role: return-pump, driver: always-on, switch: switch.pump }
parts:
  electrode: { kind: ph-electrode, fitted: 2024-12-01, limits: { days: 200 d } }
  other-electrode: { kind: ph-electrode, fitted: 2025-10-01, limits: { days: 200 d } }
  floats: { kind: top-off-floats, fitted: 2020-12-01, limits: { days: 200 d } }
people: { ana: { name: Ana } }
`;

const day = (text: string) => Date.parse(`${text}T00:00:00Z`);
const codeOf = async (work: () => Promise<unknown>): Promise<string> => {
  try {
    await work();
  } catch (error) {
    assert.ok(error instanceof SlackwaterError, String(error));
    return `${error.code} ${error.message}`;
  }
  return 'none';
};
const limitOf = ({ app }: KeeperHome, part: string) => app.usage().find((one) => one.part === part)?.measures[0]?.limit;
const wornOut = async ({ app }: KeeperHome, part: string, days: readonly string[]) => {
  for (const at of days) await app.fitted(part, ana, { at: day(at), worn: true });
};

describe('limits learned from past lives', () => {
  test('nothing changes before a person agrees; then standings go by it, and back again', async () => {
    const first = await keeperHome(YAML);
    // 121, 111 and 117 days: each was worn out long before its 200.
    await wornOut(first, 'electrode', ['2025-04-01', '2025-07-21', '2025-11-15']);
    const [before] = first.app.limits('electrode');
    assert.ok(before !== undefined);
    // The two that are in now count as lives that lasted so far.
    assert.deepEqual([before.lives, before.worn, before.inForce, before.acceptedBy], [5, 3, 200, null]);
    assert.ok(before.proposed !== null && before.proposed > 95 && before.proposed <= 115, `${before.proposed}`);
    assert.match(before.why, /nine of ten like these last 1\d\d d/);
    assert.equal(limitOf(first, 'electrode'), 200);

    const [after] = await first.app.setLimit('electrode', ana, 'accepted');
    assert.deepEqual([after?.inForce, after?.configured, after?.acceptedBy], [before.proposed, 200, 'Ana']);
    assert.equal(limitOf(first, 'electrode'), before.proposed);
    assert.equal(limitOf(first, 'other-electrode'), 200);
    const standing = first.app.due().find((one) => one.part === 'electrode');
    assert.equal(standing?.limit, before.proposed);

    const second = await first.restart();
    await second.app.settled();
    assert.equal(limitOf(second, 'electrode'), before.proposed);
    const [back] = await second.app.setLimit('electrode', ana, 'given-back');
    assert.deepEqual([back?.inForce, back?.acceptedBy], [200, null]);
    assert.match(await codeOf(() => second.app.setLimit('electrode', ana, 'given-back')), /^SW-REC-021/);
    await second.stop();
  });

  test('a part that guards against harm is never given longer, and says why', async () => {
    const home = await keeperHome(YAML);
    // Five lives of about 330 days.
    await wornOut(home, 'floats', ['2021-11-01', '2022-10-01', '2023-09-01', '2024-07-20', '2025-06-10']);
    const [view] = home.app.limits('floats');
    assert.deepEqual([view?.proposed, view?.safety, view?.worn], [null, true, 5]);
    assert.ok((view?.learned ?? 0) > 200);
    assert.match(view?.why ?? '', /never given longer/);
    const refused = await codeOf(() => home.app.setLimit('floats', ana, 'accepted'));
    assert.match(refused, /^SW-REC-020 .*never given longer/);
    await home.stop();
  });

  test('replaced in time shows no wear, and taking a record back takes its lesson back', async () => {
    const home = await keeperHome(YAML);
    for (const at of ['2025-04-01', '2025-07-21', '2025-11-15'])
      await home.app.fitted('electrode', ana, { at: day(at) });
    assert.match(home.app.limits('electrode')[0]?.why ?? '', /fewer than three/);
    for (let times = 0; times < 3; times += 1) await home.app.undo('electrode', ana);
    await wornOut(home, 'electrode', ['2025-04-01', '2025-07-21', '2025-11-15']);
    assert.equal(home.app.limits('electrode')[0]?.worn, 3);
    await home.app.undo('electrode', ana);
    assert.equal(home.app.limits('electrode')[0]?.worn, 2);
    await home.stop();
  });
});
