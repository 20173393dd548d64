import type { CatalogueArea } from '../entry.ts';

export const STORE_ERRORS = {
  'SW-STORE-001': {
    template: 'The disk that holds {file} is full.',
    whatToDo:
      'Free some space. No session can start and nothing more is counted until a write succeeds; what was written before is safe.',
    lasting: 'transient',
  },
  'SW-STORE-002': {
    template: 'The store {file} cannot be written: it or its folder is read-only for this user.',
    whatToDo: 'Give the user that runs the service write access to the file and its folder.',
    lasting: 'permanent',
  },
  'SW-STORE-003': {
    template: 'The store {file} is in use by another running service (process {pid}).',
    whatToDo: 'Stop the other one first. Two services on one store would count twice.',
    lasting: 'permanent',
  },
  'SW-STORE-004': {
    template: 'The store {file} was written by a newer version (schema {found}; this version knows up to {known}).',
    whatToDo: 'Run the newer version again, or restore the backup that was made before the change.',
    lasting: 'permanent',
  },
  'SW-STORE-005': {
    template: 'The store {file} is damaged: {detail}.',
    whatToDo:
      'Nothing more is counted and the file was left as it is. Run `slackwater restore BACKUP`; it keeps the damaged file beside the restored one.',
    lasting: 'permanent',
  },
  'SW-STORE-006': {
    template: 'The store {file} could not be opened: {detail}.',
    whatToDo: 'Check that the folder exists and that the path names a file.',
    lasting: 'permanent',
  },
  'SW-STORE-007': {
    template: 'Writing to the store {file} failed: {detail}.',
    whatToDo:
      'Nothing of this write was kept and nothing was switched because of it. Check the disk and start the service again.',
    lasting: 'transient',
  },
  'SW-STORE-008': {
    template: 'The store {file} was busy for longer than {waited}.',
    whatToDo: 'Close other programs that have the file open, then try again.',
    lasting: 'transient',
  },
  'SW-STORE-009': {
    template: 'The store {file} is of an earlier version (schema {found}; this version works with {known}).',
    whatToDo: 'Start the service once: it puts a copy of the file aside and brings the store up to date.',
    lasting: 'permanent',
  },
  'SW-STORE-010': {
    template: '{file} exists already.',
    whatToDo: 'Nothing was overwritten. Name another place, or move what is there away first.',
    lasting: 'permanent',
  },
  'SW-STORE-011': {
    template: 'The export in {folder} cannot be taken in: {detail}.',
    whatToDo: 'No store was made. Take an export that is whole and unchanged, or make a new one.',
    lasting: 'permanent',
  },
  'SW-STORE-012': {
    template: 'A restore of the store {file} was cut short.',
    whatToDo:
      'Run `slackwater restore BACKUP` again. Nothing was lost: what was there before lies beside it as {aside}.',
    lasting: 'permanent',
  },
} as const satisfies CatalogueArea;
