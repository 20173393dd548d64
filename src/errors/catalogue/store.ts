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
    whatToDo: 'The file was left as it is. Copy it to a safe place, then restore the latest backup.',
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
} as const satisfies CatalogueArea;
