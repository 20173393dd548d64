import { entityNames, titleOf } from './names.ts';
import type { PublishInput, StateShown } from './states.ts';

/** Something that needs a person, as published. */
export type AttentionShown = {
  readonly kind: string;
  readonly id: string;
  readonly since: number;
  readonly text: string;
  readonly toDo: string;
};

/** On while something waits for a person that must not be forgotten; a watch that goes well is only listed. */
export const attentionStates = ({ prefix, attention }: PublishInput): readonly StateShown[] => {
  if (attention === undefined) return [];
  const waiting = attention.filter(({ toDo }) => toDo !== '');
  const line = ({ kind, id, since, text, toDo }: AttentionShown) => ({
    ...{ kind, id, text, to_do: toDo },
    since: new Date(since).toISOString(),
  });
  return [
    {
      entity: entityNames(prefix).attention,
      state: waiting.length > 0 ? 'on' : 'off',
      attributes: {
        friendly_name: `${titleOf(prefix)} needs attention`,
        icon: waiting.length > 0 ? 'mdi:alert-octagon' : 'mdi:shield-check-outline',
        count: waiting.length,
        lines: waiting.map(line),
        watched: attention.filter(({ toDo }) => toDo === '').map(line),
      },
    },
  ];
};
