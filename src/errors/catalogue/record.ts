import type { CatalogueArea } from '../entry.ts';

export const RECORD_ERRORS = {
  'SW-REC-001': {
    template: 'A journal entry has version {found}; this program reads up to version {known}.',
    whatToDo: 'Run the newer version that wrote it, or restore the backup made before. Nothing was changed.',
    lasting: 'permanent',
  },
  'SW-REC-002': {
    template: 'A journal entry cannot be read: {path}: found {found}, expected {expected}.',
    whatToDo: 'The journal was left as it is. Copy the store to a safe place, then restore the latest backup.',
    lasting: 'permanent',
  },
  'SW-REC-003': {
    template: '{part} cannot have been fitted on {found}, which is still to come.',
    whatToDo: 'Give the time at which it was done, now or earlier.',
    lasting: 'permanent',
  },
  'SW-REC-004': {
    template: '{part} cannot have been replaced on {found}: the one before it was fitted later, on {previous}.',
    whatToDo: 'Give a time after that, or correct the earlier date first.',
    lasting: 'permanent',
  },
  'SW-REC-005': {
    template: '{part} has {pieces} pieces; "{found}" does not name some of them.',
    whatToDo: 'Give how many were replaced, 1 to {last}, or their places; without `--pieces` all of them were.',
    lasting: 'permanent',
  },
  'SW-REC-006': {
    template: '{part}: nobody said when the other pieces were fitted, so their age is unknown.',
    whatToDo: 'Say it first with `slackwater seed {id} --fitted DATE`.',
    lasting: 'permanent',
  },
  'SW-REC-007': {
    template: '{part} has no spares that take turns.',
    whatToDo: 'Name them under `spares` of the part in the configuration, or leave `--with` out.',
    lasting: 'permanent',
  },
  'SW-REC-008': {
    template: '{part} has no spare "{found}"; there is: {known}.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-REC-009': {
    template: '{part}: {found} is the one that is in.',
    whatToDo: 'Name the other one, or add `--as-new` if it was overhauled and begins anew.',
    lasting: 'permanent',
  },
  'SW-REC-010': {
    template: '{part}: there is nothing to take back.',
    whatToDo: 'Only what was recorded here can be; a date in the configuration is changed there.',
    lasting: 'permanent',
  },
  'SW-REC-011': {
    template: '{part} was fitted on {found} by a record here; a past can be given to the first one only.',
    whatToDo: 'Take that record back with `slackwater undo {id}`, then record it with the right `--at`.',
    lasting: 'permanent',
  },
  'SW-REC-012': {
    template: '{part} does not count {found}; it counts: {known}.',
    whatToDo: 'Give an amount of one of these, or name a counter for it in the configuration.',
    lasting: 'permanent',
  },
  'SW-REC-013': {
    template: '{part}: there is no power of its present life to count again.',
    whatToDo: 'It works for on-hours that are counted from watts, as far back as minutes were kept.',
    lasting: 'permanent',
  },
  'SW-REC-014': {
    template: '{found} has no counter that reads a {kind}; its counters: {known}.',
    whatToDo: 'Name an entity of the same kind, or the counter itself.',
    lasting: 'permanent',
  },
  'SW-REC-015': {
    template: 'There is no counter or equipment "{found}"; there is: {known}.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-REC-016': {
    template: 'The counter {counter} reads {entity} already.',
    whatToDo: 'Name the entity of the new plug.',
    lasting: 'permanent',
  },
  'SW-REC-017': {
    template: 'There is no open question "{found}"; open: {known}.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-REC-018': {
    template: '"{found}" is no answer; it takes: {known}.',
    whatToDo: 'Read the question again: it says what either answer does.',
    lasting: 'permanent',
  },
  'SW-REC-019': {
    template: 'A session is open, or a claim stands: sources are not changed meanwhile.',
    whatToDo: 'End the session and release the claims first.',
    lasting: 'permanent',
  },
  'SW-REC-020': {
    template: 'No other limit is proposed for {part}: {why}.',
    whatToDo: 'Record worn-out parts with `slackwater replaced PART --worn`, or set the limit in the configuration.',
    lasting: 'permanent',
  },
  'SW-REC-021': {
    template: 'The limits of {part} are those of the configuration.',
    whatToDo: 'Nothing is to be done; `slackwater limits PART` shows them.',
    lasting: 'permanent',
  },
  'SW-REC-022': {
    template: 'More than one limit of {part} is meant: {known}.',
    whatToDo: 'Say which with `--measure`.',
    lasting: 'permanent',
  },
} as const satisfies CatalogueArea;
