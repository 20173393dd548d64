import type { CatalogueArea } from '../entry.ts';

export const SES_ERRORS = {
  'SW-SES-001': {
    template: 'There is no procedure "{found}"; there is: {known}.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-SES-002': {
    template: 'A session is already open on this tank: {title}, started by {person}.',
    whatToDo: 'Finish or abort that one first. A tank has one session at a time.',
    lasting: 'transient',
  },
  'SW-SES-003': {
    template: 'No safe plan exists for {procedure}: {why} (rule {rule}).',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-SES-004': {
    template: 'The confirmation is for {found}, but {expected} is waiting.',
    whatToDo: 'Read what is asked now and confirm that. Nothing was done.',
    lasting: 'permanent',
  },
  'SW-SES-005': {
    template: 'The confirmation came {since} after the step appeared; nothing is taken before {needed}.',
    whatToDo: 'Read the step, then confirm again. Nothing was done.',
    lasting: 'transient',
  },
  'SW-SES-006': {
    template: 'This confirmation was already used.',
    whatToDo: 'Look at the session again: each step has a confirmation of its own. Nothing was done.',
    lasting: 'permanent',
  },
  'SW-SES-007': {
    template: 'The confirmation carries no person, and {what} needs one.',
    whatToDo:
      'Confirm while logged in to the hub as a person listed in the configuration, or with the credential of a person.',
    lasting: 'permanent',
  },
  'SW-SES-008': {
    template: 'The confirmation is stale: its session or step is over.',
    whatToDo: 'Look at the session again and confirm what is asked now. Nothing was done.',
    lasting: 'permanent',
  },
  'SW-SES-009': {
    template: 'There is no claim on {equipment}.',
    whatToDo: 'Look at the session for the claims that stand.',
    lasting: 'permanent',
  },
  'SW-SES-010': {
    template: 'The claim on {equipment} belongs to {owner}; {person} cannot release it.',
    whatToDo: 'Ask {owner} or the deputy named in the configuration.',
    lasting: 'permanent',
  },
  'SW-SES-011': {
    template: 'No session is open.',
    whatToDo: 'Start one with `slackwater session start PROCEDURE`.',
    lasting: 'permanent',
  },
  'SW-SES-012': {
    template: 'A session cannot start now: {why}.',
    whatToDo: '{hint}',
    lasting: 'transient',
  },
  'SW-SES-013': {
    template: 'Nothing waits for a confirmation at the moment.',
    whatToDo: 'Look at the session: it shows the step at work and what it waits for.',
    lasting: 'transient',
  },
  'SW-SES-014': {
    template: 'There is no part "{found}"; there is: {known}.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-SES-015': {
    template: 'The replacement of {part} cannot be at {at}: {why}.',
    whatToDo: 'Give a time after the last fitting and not in the future.',
    lasting: 'permanent',
  },
  'SW-SES-016': {
    template: '{present} said "I am at the tank" and answers this; {person} does not.',
    whatToDo: 'Let {present} answer, or the deputy named for that person in the configuration. Nothing was done.',
    lasting: 'permanent',
  },
  'SW-SES-017': {
    template: 'This step asks for a value: {what}.',
    whatToDo: 'Read it off and give it with the confirmation. Nothing was done.',
    lasting: 'permanent',
  },
  'SW-SES-018': {
    template: 'The value {value} was given, but what is asked now takes none.',
    whatToDo: 'Look at the session again and confirm what is asked now. Nothing was done.',
    lasting: 'permanent',
  },
  'SW-SES-019': {
    template: '{value} is not taken: {why}.',
    whatToDo: 'Put it right, measure again and give the new value; or abort.',
    lasting: 'transient',
  },
  'SW-SES-020': {
    template: 'Nothing called "{found}" is left out of service by a session; there is: {known}.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-SES-021': {
    template: '"{found}" in the field for a value is not taken: {why}.',
    whatToDo: 'Type what you read off, then confirm. Nothing was done.',
    lasting: 'transient',
  },
} as const satisfies CatalogueArea;
