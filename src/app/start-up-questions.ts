import type { Tank } from '../model/index.ts';
import type { StorePort, System } from '../ports/index.ts';
import { cameOnByItself, type SessionState } from '../procedure/index.ts';
import { ROLES } from '../rules/index.ts';
import type { createAlarms } from './alarms.ts';

/**
 * K31: what comes on by itself while a session keeps it off may be a plug that starts with the power. The alarm passes with
 * its cause; the setting is looked at afterwards, so it stays a question until a person has.
 */
export function createStartUpQuestions(deps: {
  readonly tank: Tank;
  readonly store: Pick<StorePort, 'putQuestion'>;
  readonly system: System;
  readonly alarms: Pick<ReturnType<typeof createAlarms>, 'notice'>;
}) {
  const { tank, store, system, alarms } = deps;
  const asked = new Set<string>();
  return (state: SessionState): void => {
    for (const equipment of cameOnByItself(state)) {
      const one = tank.equipment.find(({ id }) => id === equipment);
      const key = `${state.id} ${equipment}`;
      if (one === undefined || ROLES[one.role].startUp !== 'off' || asked.has(key)) continue;
      asked.add(key);
      const id = `start-up-${equipment}`;
      const text = `${one.name} came on while a session kept it off. If nobody did that, its plug starts by itself, after a reboot as after a power cut; a ${ROLES[one.role].name} is to stay off. Set the plug so and note it as startUp: off; slackwater audit shows all of them. "yes": looked at and set; "no": somebody switched it on.`;
      if (store.putQuestion({ id, kind: 'start-up', askedAt: system.clock.now(), equipment, text }))
        alarms.notice(id, 'Slackwater asks', `${text} Answer with: slackwater answer ${id} yes`);
    }
  };
}
