import assert from 'node:assert/strict';
import type { EntityId } from '../../src/model/index.ts';
import type { SwitchCommand } from '../../src/procedure/index.ts';
import { eventually } from '../support/eventually.ts';
import { postState, restState } from '../support/hub-talk.ts';
import type { Bench, Edge } from './bench.ts';
import { entitiesOf } from './bench.ts';
import type { Check } from './check.ts';
import type { HomePlug } from './home.ts';

export function turn(entity: EntityId, to: 'on' | 'off'): SwitchCommand {
  return { session: 'contract', step: `${to}:pump`, equipment: 'pump', entity, turn: to };
}

/** Waits until relay and watts both say so; watts need asking, since a plug may report late. */
export async function waitForPlug({ shared }: Bench, plug: HomePlug, on: boolean): Promise<void> {
  await eventually(`${plug.switch} to be ${on ? 'on' : 'off'}`, async () => {
    const [relay, power] = await shared.hub.refresh([plug.switch, plug.power]);
    return relay?.value === (on ? 1 : 0) && power?.value != null && power.value > 2 === on;
  });
}

async function outcome(edge: Edge, entity: EntityId, to: 'on' | 'off'): Promise<string> {
  return (await edge.hub.command(turn(entity, to))).outcome;
}

export const gateChecks: readonly Check[] = [
  {
    name: 'a command is confirmed by the hub, and the plug itself then says so, relay and watts',
    async run(bench) {
      const { shared, home } = bench;
      const from = shared.seen.changes.length;
      assert.equal(await outcome(shared, home.plug.switch, 'off'), 'confirmed');
      await waitForPlug(bench, home.plug, false);
      const change = shared.seen.changes.slice(from).find((one) => one.entity === home.plug.switch);
      assert.equal(change?.value, 0);
      assert.equal(change?.userId, home.userId);
      assert.equal(await outcome(shared, home.plug.switch, 'on'), 'confirmed');
      await waitForPlug(bench, home.plug, true);
    },
  },
  {
    name: 'an entity that is not in the configuration is never switched',
    async run({ edge, home, client }) {
      const entities = { ...entitiesOf(home), commandable: [home.plug.switch] };
      const narrow = edge({ entities });
      await narrow.start();
      const before = await restState(home, home.otherPlug.switch);
      const answer = await narrow.hub.command(turn(home.otherPlug.switch, 'off'));
      assert.equal(answer.outcome, 'invalid');
      assert.match(answer.detail, /not in the configuration/);
      // Asked in order over the same hub: had something been sent before, this answer would come after it.
      const own = await client();
      await own.call({ type: 'get_config' });
      assert.equal((await restState(home, home.otherPlug.switch)).context.id, before.context.id);
      own.close();
      await narrow.hub.stop();
    },
  },
  {
    name: 'plugs and drivers are kept apart by the gate',
    async run({ shared, home }) {
      assert.equal(await outcome(shared, home.driver, 'off'), 'invalid');
      assert.equal((await shared.hub.driver(home.plug.switch, 'suspend')).outcome, 'invalid');
      assert.equal((await restState(home, home.plug.switch)).state, 'on');
    },
  },
  {
    name: 'a driver is suspended and resumed',
    async run({ shared, home }) {
      assert.equal((await shared.hub.driver(home.driver, 'suspend')).outcome, 'confirmed');
      assert.equal((await restState(home, home.driver)).state, 'off');
      assert.equal((await shared.hub.driver(home.driver, 'resume')).outcome, 'confirmed');
      assert.equal((await restState(home, home.driver)).state, 'on');
    },
  },
  {
    name: 'a configured entity that the hub does not have is invalid, an unavailable one refused: neither is sent',
    async run({ edge, home }) {
      const [missing, lost] = ['switch.contract_not_there', 'switch.contract_lost'];
      await postState(home, lost, 'unavailable');
      const other = edge({ entities: { ...entitiesOf(home), commandable: [missing, lost] } });
      await other.start();
      assert.equal(await outcome(other, missing, 'off'), 'invalid');
      const answer = await other.hub.command(turn(lost, 'off'));
      assert.equal(answer.outcome, 'refused');
      assert.match(answer.detail, /unavailable/);
      await other.hub.stop();
    },
  },
  {
    name: 'an error of the hub ends as refused, and the plug stays',
    async run({ shared, home }) {
      await home.setPlugFault(home.otherPlug, 'answers-with-error');
      const answer = await shared.hub.command(turn(home.otherPlug.switch, 'off'));
      await home.setPlugFault(home.otherPlug, 'none');
      assert.equal(answer.outcome, 'refused', answer.detail);
      assert.equal((await restState(home, home.otherPlug.switch)).state, 'on');
    },
  },
  {
    name: 'a plug that says off and keeps its watts is confirmed by the hub, and its fresh watts give it away',
    async run(bench) {
      const { shared, home } = bench;
      await home.setPlugFault(home.plug, 'echo-off-keeps-watts');
      assert.equal(await outcome(shared, home.plug.switch, 'off'), 'confirmed');
      const [, power] = await eventually('the relay to say off, and watts that are newer than that', async () => {
        const readings = await shared.hub.refresh([home.plug.switch, home.plug.power]);
        const [relay, watts] = readings;
        const isNewer = (watts?.reportedAt ?? 0) >= (relay?.changedAt ?? Number.NaN);
        return relay?.value === 0 && isNewer ? readings : undefined;
      });
      assert.ok((power?.value ?? 0) > 2, `${power?.value} W`);
      await home.setPlugFault(home.plug, 'none');
      assert.equal(await outcome(shared, home.plug.switch, 'on'), 'confirmed');
      await waitForPlug(bench, home.plug, true);
    },
  },
  {
    name: 'a hub that gives no answer in time leaves the command still working',
    async run(bench) {
      const { edge, home, proxy } = bench;
      const hurried = edge({ deadlineMs: 400, entities: entitiesOf(home) });
      await hurried.start();
      proxy.holdAnswers(true);
      const answer = await hurried.hub.command(turn(home.plug.switch, 'off'));
      proxy.holdAnswers(false);
      assert.equal(answer.outcome, 'still-working', answer.detail);
      await waitForPlug(bench, home.plug, false);
      assert.equal(await outcome(bench.shared, home.plug.switch, 'on'), 'confirmed');
      await waitForPlug(bench, home.plug, true);
      await hurried.hub.stop();
    },
  },
  {
    name: 'a link lost before the answer leaves the command sent, unconfirmed',
    async run(bench) {
      const { edge, home, proxy, shared } = bench;
      const cutOff = edge();
      await cutOff.start();
      const sent = proxy.sentBytes();
      proxy.holdAnswers(true);
      const answering = cutOff.hub.command(turn(home.plug.switch, 'off'));
      await eventually('the command to be on its way', () => proxy.sentBytes() > sent);
      const ups = shared.seen.links.filter((link) => link.up).length;
      proxy.cut();
      const answer = await answering;
      proxy.holdAnswers(false);
      assert.equal(answer.outcome, 'sent-unconfirmed', answer.detail);
      await cutOff.hub.stop();
      await eventually('the link again', () => shared.seen.links.filter((link) => link.up).length > ups);
      assert.equal(await outcome(shared, home.plug.switch, 'on'), 'confirmed');
      await waitForPlug(bench, home.plug, true);
    },
  },
];
