import type { CatalogueArea } from '../entry.ts';

export const GUARD_ERRORS = {
  'SW-GRD-001': {
    template: 'There is no latched guard "{found}"; latched: {known}.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-GRD-002': {
    template: 'A guard is reset by a named person only.',
    whatToDo: 'Use the credential of a person, as in `slackwater guard reset GUARD`.',
    lasting: 'permanent',
  },
  'SW-GRD-003': {
    template: '{guard} cannot be reset: {cause}.',
    whatToDo: 'Put that right first. What it holds off stays off until then.',
    lasting: 'transient',
  },
  'SW-GRD-004': {
    template: 'No way for alarms beside the hub is configured.',
    whatToDo: 'Add a webhook or an e-mail under `alarms` in the configuration.',
    lasting: 'permanent',
  },
} as const satisfies CatalogueArea;
