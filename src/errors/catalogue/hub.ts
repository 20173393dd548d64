import type { CatalogueArea } from '../entry.ts';

export const HUB_ERRORS = {
  'SW-HUB-001': {
    template: 'The hub at {url} cannot be reached: {detail}.',
    whatToDo:
      'Nothing is needed if the hub is restarting; the service keeps trying. Else check address, port and network.',
    lasting: 'transient',
  },
  'SW-HUB-002': {
    template: 'The hub at {url} refused the token.',
    whatToDo:
      'Make a new long-lived token in the hub, in the profile of a user kept for this service, put it where the configuration points and start again. The service does not try again by itself, since repeated refusals can get this machine banned.',
    lasting: 'permanent',
  },
  'SW-HUB-003': {
    template: 'The hub at {url} has banned this machine (answer 403).',
    whatToDo:
      'Correct the token first, then remove this machine from ip_bans.yaml in the configuration folder of the hub and restart the hub.',
    lasting: 'permanent',
  },
  'SW-HUB-004': {
    template: 'The hub at {url} answered but was not fully started after {waited}; it reports {state}.',
    whatToDo:
      'The service keeps waiting; until then every reading is unknown. If it stays so, read the log of the hub.',
    lasting: 'transient',
  },
  'SW-HUB-005': {
    template: 'The hub did not answer "{call}" within {deadline}.',
    whatToDo:
      'The outcome is unknown: the service reads the state again before it goes on. Look at the load of the hub if this repeats.',
    lasting: 'transient',
  },
  'SW-HUB-006': {
    template: 'The hub is version {found}; the service needs {needed} or newer.',
    whatToDo: 'Update the hub.',
    lasting: 'permanent',
  },
  'SW-HUB-007': {
    template: 'The clocks of the hub and of this machine are {skew} apart; at most {allowed} is allowed for a session.',
    whatToDo:
      'Let both keep their time from a time server. Counting goes on; no session can start until the clocks agree.',
    lasting: 'transient',
  },
  'SW-HUB-008': {
    template: 'The token belongs to a hub user without administrator rights, which are needed for: {needed}.',
    whatToDo: 'Make the hub user of this service an administrator, or give the token of one.',
    lasting: 'permanent',
  },
  'SW-HUB-009': {
    template: 'The hub has no entity {entity}, which the configuration names for {what}.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-HUB-010': {
    template: 'The hub is not connected, so {what} cannot be done now.',
    whatToDo: 'Wait until `slackwater due` shows the hub as connected, then try again.',
    lasting: 'transient',
  },
  'SW-HUB-011': {
    template: 'The hub refused "{call}": {detail}.',
    whatToDo: 'Read the log of the hub for the reason, correct it and try again.',
    lasting: 'permanent',
  },
  'SW-HUB-012': {
    template: 'The entity {entity} is not in the configuration, so no command was sent to it.',
    whatToDo: 'Add it to an equipment in the configuration if the service is meant to switch it.',
    lasting: 'permanent',
  },
  'SW-HUB-013': {
    template: 'The hub could not give its history from {from} to {to}: {detail}.',
    whatToDo: 'The time stays open as a gap with bounds. Check the recorder of the hub; the service asks again later.',
    lasting: 'transient',
  },
  'SW-HUB-014': {
    template: 'The address {url} answered, but not as a hub does: {detail}.',
    whatToDo: 'Check that the address and port in the configuration are those of the hub itself.',
    lasting: 'permanent',
  },
  'SW-HUB-015': {
    template: 'The hub now calls {entity} {now}; it is the same device, and counting goes on.',
    whatToDo: 'Write {now} into the configuration in place of {entity} when convenient.',
    lasting: 'transient',
  },
  'SW-HUB-016': {
    template: 'The hub has no unique id for {entities}: if one of these is renamed there, it cannot be followed.',
    whatToDo: 'Give the entity a unique id in the hub, or correct the configuration when you rename it.',
    lasting: 'transient',
  },
} as const satisfies CatalogueArea;
