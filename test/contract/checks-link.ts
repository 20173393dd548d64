import assert from 'node:assert/strict';
import type { Observation } from '../../src/observe/index.ts';
import { eventually } from '../support/eventually.ts';
import { postState, press, restState } from '../support/hub-talk.ts';
import type { Bench, Edge, LinkNews } from './bench.ts';
import type { Check } from './check.ts';
import { turn, waitForPlug } from './checks-gate.ts';
import { BUTTONS } from './checks-publish.ts';

/** Link news since `from`, once `count` of them have come. */
function news({ seen }: Edge, from: number, count: number): Promise<readonly LinkNews[]> {
  return eventually(
    `${count} news of the link`,
    () => (seen.links.length - from >= count ? seen.links.slice(from) : undefined),
    { limitMs: 120_000 },
  );
}

async function killAndStart({ home, shared }: Bench): Promise<readonly LinkNews[]> {
  const from = shared.seen.links.length;
  await home.kill();
  await news(shared, from, 1);
  await home.start();
  const told = await news(shared, from, 2);
  await shared.hub.leaveMark();
  return told;
}

const AWAY = 'contract_away';

/** Another service connects, leaves its mark, and goes; gives when it was last there. */
async function leave({ edge, home }: Bench): Promise<number> {
  const other = edge({ prefix: AWAY });
  await other.start();
  await other.hub.leaveMark();
  await eventually('its mark', async () => (await restState(home, `sensor.${AWAY}_service`)).state !== '');
  await other.hub.stop();
  return home.system.clock.now();
}

async function comeBack({ edge }: Bench, lastSeenAt: number): Promise<readonly boolean[]> {
  const other = edge({ prefix: AWAY, lastSeenAt, hadMark: true });
  await other.start();
  const told = other.seen.links.map((link) => link.up && link.hubRestarted);
  await other.hub.stop();
  return told;
}

export const linkChecks: readonly Check[] = [
  {
    name: 'a dropped link is told down once and up once, and what was missed is in the history',
    async run(bench) {
      const { shared, home, proxy, probe } = bench;
      const from = shared.seen.links.length;
      const lines = shared.seen.logged.length;
      await postState(home, probe, '70');
      await eventually('the last value', () => shared.seen.observations.at(-1)?.value === 70);
      const seen = shared.seen.observations.length;
      proxy.refuse(true);
      proxy.cut();
      const [down] = await news(shared, from, 1);
      assert.equal(down?.up, false);
      await postState(home, probe, '71');
      await postState(home, probe, '72');
      proxy.refuse(false);
      const told = await news(shared, from, 2);
      assert.deepEqual(
        told.map((link) => [link.up, link.up && link.hubRestarted]),
        [
          [false, false],
          [true, false],
        ],
      );
      const next = await eventually('the present value', () =>
        shared.seen.observations.slice(seen).find((one) => one.entity === probe),
      );
      assert.equal(next.value, 72, 'the present state comes with the link');
      const rows: Observation[] = [];
      const request = { entities: [probe], from: down?.at ?? 0, to: home.system.clock.now() };
      for await (const batch of shared.hub.history(request)) rows.push(...batch);
      assert.deepEqual(
        rows.filter((row) => row.at > (down?.at ?? 0)).map((row) => row.value),
        [71, 72],
      );
      const said = shared.seen.logged.slice(lines).filter((line) => /lost|connected again/.test(line));
      assert.equal(said.length, 2, said.join('\n'));
    },
  },
  {
    name: 'a link that looks alive and says nothing is noticed and replaced',
    async run({ edge, proxy, home, probe }) {
      const watchful = edge({ keepAliveMs: 150, pongMs: 300, deadlineMs: 2_000 });
      await watchful.start();
      proxy.holdAnswers(true);
      const [, down] = await news(watchful, 0, 2);
      assert.ok(down?.up === false && /ping/.test(down.reason), JSON.stringify(down));
      proxy.holdAnswers(false);
      const told = await news(watchful, 0, 3);
      assert.equal(told.at(-1)?.up, true);
      await postState(home, probe, '80');
      await eventually('changes to come again', () =>
        watchful.seen.observations.some((one) => one.entity === probe && one.value === 80),
      );
      await watchful.hub.stop();
    },
  },
  {
    name: 'a remembered press is not a new one after a reconnect; a new one is',
    async run({ shared, proxy, asPerson }) {
      const entities = await shared.hub.ensureButtons(BUTTONS);
      const client = await asPerson();
      const before = shared.seen.presses.length;
      await press(client, entities.get('confirm') ?? '');
      await eventually('the press', () => shared.seen.presses.length > before);
      const [from, presses] = [shared.seen.links.length, shared.seen.presses.length];
      proxy.cut();
      await news(shared, from, 2);
      await press(client, entities.get('start-pause') ?? '');
      await eventually('the new press', () => shared.seen.presses.length > presses);
      const came = shared.seen.presses.slice(presses);
      assert.deepEqual(
        came.map((one) => one.kind === 'button' && one.button),
        ['start-pause'],
      );
      client.close();
    },
  },
  {
    name: 'a hub killed before it answered leaves the command sent, unconfirmed; nothing is sent again',
    async run(bench) {
      const { shared, home, proxy } = bench;
      const sent = proxy.sentBytes();
      const from = shared.seen.links.length;
      proxy.holdAnswers(true);
      const answering = shared.hub.command(turn(home.plug.switch, 'off'));
      await eventually('the command to be on its way', () => proxy.sentBytes() > sent);
      await home.kill();
      proxy.cut();
      const answer = await answering;
      assert.equal(answer.outcome, 'sent-unconfirmed', answer.detail);
      const whileDown = await shared.hub.command(turn(home.plug.switch, 'off'));
      assert.equal(whileDown.outcome, 'refused');
      assert.match(whileDown.detail, /not sent/);
      proxy.holdAnswers(false);
      await home.start();
      await news(shared, from, 2);
      assert.equal((await shared.hub.command(turn(home.plug.switch, 'on'))).outcome, 'confirmed');
      await waitForPlug(bench, home.plug, true);
    },
  },
  {
    name: 'a restart of the hub is told to who was there and to who was away; published states and buttons come back',
    async run(bench) {
      const { shared, home, asPerson } = bench;
      const state = { entity: 'sensor.contract_due', state: '3', attributes: { friendly_name: 'Due' } };
      await shared.hub.publish([state]);
      const buttons = await shared.hub.ensureButtons(BUTTONS);
      const lastSeenAt = await leave(bench);
      assert.deepEqual(await comeBack(bench, lastSeenAt), [false], 'no restart lay in between');
      const [from, presses] = [shared.seen.links.length, shared.seen.presses.length];
      const killedAt = home.system.clock.now();
      const up = (await killAndStart(bench)).at(-1);
      assert.equal(shared.seen.links.length, from + 2);
      assert.ok(up?.up === true && up.hubRestarted);
      assert.ok(up.restartedAt !== null && up.restartedAt >= killedAt && up.restartedAt <= up.at);
      await eventually('the state to be back', async () => (await restState(home, state.entity)).state === '3');
      const client = await asPerson();
      await press(client, buttons.get('confirm') ?? '');
      await eventually('a press to come through', () => shared.seen.presses.length > presses);
      assert.equal(shared.seen.presses.length, presses + 1, 'the remembered press was not told again');
      client.close();
      assert.deepEqual(await comeBack(bench, lastSeenAt), [true], 'who was away learns it too');
      assert.deepEqual(
        await comeBack(bench, lastSeenAt),
        [true],
        'and again until its mark says that it has read what it missed',
      );
    },
  },
];
