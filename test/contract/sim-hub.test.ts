import { realSystem } from '../../src/io/system/index.ts';
import { type PlugKey, powerOf, startSimHub, switchOf } from '../../src/sim/index.ts';
import type { Home, HomePlug, PlugTrouble } from './home.ts';
import { hubContract } from './hub-contract.ts';

const FAULTS = {
  none: 'none',
  'echo-off-keeps-watts': 'echo-off-keeps-watts',
  'answers-with-error': 'refuses',
} as const satisfies Record<PlugTrouble, string>;

const KEYS: readonly PlugKey[] = ['return_pump', 'skimmer'];
const plugOf = (key: PlugKey): HomePlug => ({ switch: switchOf(key), power: powerOf(key) });

function keyOf(plug: HomePlug): PlugKey {
  const key = KEYS.find((one) => switchOf(one) === plug.switch);
  if (key === undefined) throw new Error(`no plug behind ${plug.switch}`);
  return key;
}

async function simHome(): Promise<Home> {
  const system = realSystem({ background: true });
  const hub = await startSimHub({
    seed: 1,
    system,
    historyDays: 1,
    tickMs: 100,
    booleans: ['Contract schedule'],
    notifyServices: ['contract_phone'],
  });
  hub.call('input_boolean.turn_on', 'input_boolean.contract_schedule');
  return {
    url: hub.url,
    token: hub.token,
    userId: hub.userId,
    system,
    version: '2025.4.4',
    timeZone: 'Europe/London',
    plug: plugOf('return_pump'),
    otherPlug: plugOf('skimmer'),
    driver: 'input_boolean.contract_schedule',
    notifyService: 'notify.contract_phone',
    pressAsMachine: async (button) => hub.call('input_button.press', button, null),
    setPlugFault: async (plug, fault) => hub.setFault(keyOf(plug), FAULTS[fault]),
    sentMessages: () =>
      hub
        .sentMessages()
        .filter((message) => message.service === 'notify.contract_phone')
        .map(({ data }) => data),
    kill: () => hub.stop(),
    start: () => hub.start({ startingMs: 300 }),
    close: () => hub.close(),
  };
}

hubContract('the simulated home keeps the hub contract', simHome);
