// On a real hub: the light of a lamp is given to the service by a press, its schedule rests, the lamp is lit, goes out at the
// end of its share, and the schedule has it back. Hours of three minutes, so that a share of them is soon over.
import assert from 'node:assert/strict';
import { after, before, describe, test } from 'node:test';
import { eventually, waitForState } from '../support/index.ts';
import { type RealHome, startRealHome } from './real-home.ts';

const LAMP = 'switch.lamp_bank';
const SCHEDULE = 'input_boolean.lamp_schedule';
const OUT_WITHIN_MS = 150_000;

describe('the light of new lamps on a real hub', () => {
  let home: RealHome;
  let beganAt = 0;

  before(async () => {
    home = await startRealHome();
    beganAt = Date.now();
  });
  after(() => home?.dispose());

  const is = async (entity: string, state: string, limitMs = 20_000): Promise<void> => {
    const owner = await home.owner();
    await eventually(
      `${entity} to be ${state}`,
      async () => {
        const seen = await waitForState(owner, entity, () => true);
        return seen.state === state ? seen : undefined;
      },
      { limitMs },
    );
  };

  test('by a press alone it is not begun where its hours are not known: the hub says what to do', async () => {
    await home.pressAs('robin', 'light_start_lamp_bank');
    const { message } = await home.notice(/usual hours of Lamp bank are not known/);
    assert.match(message, /acclimation start lamp-bank --hours/);
    await is(SCHEDULE, 'on');
  });

  test('its schedule rests and the lamp is lit within its hours', async () => {
    const { app } = home.service();
    const clock = (ms: number): string =>
      new Intl.DateTimeFormat('en-GB', { timeZone: 'Europe/London', hour: '2-digit', minute: '2-digit' }).format(ms);
    const now = Date.now();
    const hours = `${clock(now)}-${clock(now + 180_000)}`;
    const view = await app.startAcclimation('lamp-bank', { kind: 'person', name: 'Robin', via: 'api' }, hours);
    assert.match(view.text, /^Lamp bank, day 1 of 19 of new lamps: 60 % of its light/);
    await is(SCHEDULE, 'off');
    await is(LAMP, 'on');
  });

  test('it goes out at the end of its share', async () => {
    await is(LAMP, 'off', OUT_WITHIN_MS);
    await is(SCHEDULE, 'off');
  });

  test('given back by a press its schedule has it, and each thing was told once', async () => {
    await home.pressAs('robin', 'light_stop_lamp_bank');
    await is(SCHEDULE, 'on');
    const changes = await home.changesSince([LAMP, SCHEDULE], beganAt);
    assert.deepEqual(
      changes.map(({ entity, state }) => `${entity} ${state}`),
      [`${SCHEDULE} off`, `${LAMP} on`, `${LAMP} off`, `${SCHEDULE} on`],
    );
    const { app } = home.service();
    await eventually('the programme to be over', () => app.acclimation()[0]?.programme?.status === 'over');
  });
});
