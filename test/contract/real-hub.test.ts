import { stringify } from 'yaml';
import { realSystem } from '../../src/io/system/index.ts';
import { hubClient } from '../support/hub-client.ts';
import { hubVersion } from '../support/hub-config.ts';
import { fireEvent } from '../support/hub-talk.ts';
import { setFault, testHome } from '../support/misbehaving-plugs.ts';
import { startRealHub } from '../support/real-hub.ts';
import type { Home, HomePlug, PlugTrouble } from './home.ts';
import { hubContract } from './hub-contract.ts';

const FAULTS = {
  none: 'none',
  'echo-off-keeps-watts': 'echo-off-keeps-watts',
  'answers-with-error': 'fails',
} as const satisfies Record<PlugTrouble, string>;

/** What no client can do: press a button with nobody logged in behind it. */
const machine = stringify({
  input_boolean: { contract_schedule: { name: 'Schedule' } },
  notify: [{ platform: 'group', name: 'contract_phone', services: [{ action: 'persistent_notification' }] }],
  automation: [
    {
      id: 'contract_press',
      alias: 'Press as a machine',
      triggers: [{ trigger: 'event', event_type: 'contract_press' }],
      actions: [{ action: 'input_button.press', target: { entity_id: '{{ trigger.event.data.button }}' } }],
    },
  ],
});

const plugOf = (id: string): HomePlug => ({ switch: `switch.${id}`, power: `sensor.${id}_power` });

async function realHome(): Promise<Home> {
  const home = testHome({
    plugs: [
      { id: 'contract_pump', name: 'Return pump', watts: 48 },
      { id: 'contract_skimmer', name: 'Skimmer', watts: 26 },
    ],
  });
  const hub = await startRealHub({
    timeZone: 'Europe/London',
    packages: { ...home.packages, contract: machine },
    remembered: { ...home.remembered, 'input_boolean.contract_schedule': 'on' },
  });
  return {
    url: hub.url,
    token: hub.token,
    userId: hub.userId,
    system: realSystem({ background: true }),
    version: hubVersion,
    timeZone: 'Europe/London',
    plug: plugOf('contract_pump'),
    otherPlug: plugOf('contract_skimmer'),
    driver: 'input_boolean.contract_schedule',
    notifyService: 'notify.contract_phone',
    pressAsMachine: (button) => fireEvent(hub, 'contract_press', { button }),
    async setPlugFault(plug, fault) {
      const client = await hubClient(hub.url, hub.token);
      await setFault(client, plug.switch.replace('switch.', ''), FAULTS[fault]);
      client.close();
    },
    sentMessages: () => null,
    kill: () => hub.kill(),
    start: () => hub.start(),
    close: () => hub.dispose(),
  };
}

hubContract('the real hub keeps the hub contract', realHome);
