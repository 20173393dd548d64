import type { CatalogueArea } from '../entry.ts';

/** `{argument}` is the word of the command line and of the function's inputs alike. */
export const WATER_ERRORS = {
  'SW-WAT-001': {
    template: '{argument}: found {found}, expected {expected}.',
    whatToDo: 'Write it as in `{example}`.',
    lasting: 'permanent',
  },
  'SW-WAT-002': {
    template: '{argument}: found {found}, allowed is {expected} ({why}).',
    whatToDo: 'Give a value in that range, for example `{example}`. Outside it nothing is worked out.',
    lasting: 'permanent',
  },
  'SW-WAT-003': {
    template: '{argument} is missing; expected {expected}.',
    whatToDo: 'Add it, for example `{example}`.',
    lasting: 'permanent',
  },
  'SW-WAT-004': {
    template: '{argument}: {found} does not go with the rest: {why}.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
} as const satisfies CatalogueArea;
