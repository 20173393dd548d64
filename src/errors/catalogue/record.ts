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
} as const satisfies CatalogueArea;
