import type { CatalogueArea } from '../entry.ts';

export const ACCLIMATION_ERRORS = {
  'SW-ACC-001': {
    template: 'There is no lamp "{found}" over the display; known: {known}.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-ACC-002': {
    template: 'The hours of {name} cannot be given to the service: {why}.',
    whatToDo:
      'Name its switch and, under `driver`, the schedule or automation of the hub that switches it; or shorten its hours by hand.',
    lasting: 'permanent',
  },
  'SW-ACC-003': {
    template: 'The usual hours of {name} are not known: {why}.',
    whatToDo:
      'Say them, as in `slackwater acclimation start {lamp} --hours 09:30-18:30`, or write them as `lit` of the equipment. They are not guessed.',
    lasting: 'permanent',
  },
  'SW-ACC-004': {
    template: 'The light of {name} is already run by the service, since {since}.',
    whatToDo: 'See `slackwater acclimation status`. To begin anew, stop it first.',
    lasting: 'permanent',
  },
  'SW-ACC-005': {
    template: 'The light of {name} is not run by the service.',
    whatToDo: 'See `slackwater acclimation status`.',
    lasting: 'permanent',
  },
  'SW-ACC-006': {
    template: '"{found}" is not the hours of a lamp.',
    whatToDo: 'Write two times of day with one minute to 18 hours between them, as in 09:30-18:30.',
    lasting: 'permanent',
  },
} as const satisfies CatalogueArea;
