import type { CatalogueArea } from '../entry.ts';

/** `{at}` is file:line:column, `{path}` the key's path in the file, `{hint}` names the nearest valid word or the way out. */
export const CFG_ERRORS = {
  'SW-CFG-001': {
    template: 'The configuration {file} cannot be used: {count}.',
    whatToDo: 'Correct the places listed below, then run `slackwater check {file}` again. Nothing was started.',
    lasting: 'permanent',
  },
  'SW-CFG-002': {
    template: '{at}: this is not valid YAML: {detail}.',
    whatToDo: 'Check indentation (spaces, no tabs), colons and closing quotes on and just above this line.',
    lasting: 'permanent',
  },
  'SW-CFG-003': {
    template: '{at}: {path}: unknown key "{found}"; allowed here: {expected}.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-CFG-004': {
    template: '{at}: {path}: missing; expected {expected}.',
    whatToDo: 'Add the key, for example `{example}`.',
    lasting: 'permanent',
  },
  'SW-CFG-005': {
    template: '{at}: {path}: found {found}, expected {expected}.',
    whatToDo: 'Write it as in `{example}`.',
    lasting: 'permanent',
  },
  'SW-CFG-006': {
    template: '{at}: {path}: found {found}, expected {expected}.',
    whatToDo: 'Write the amount with its unit, for example {example}.',
    lasting: 'permanent',
  },
  'SW-CFG-007': {
    template: '{at}: {path}: found {found}, allowed is {expected}.',
    whatToDo: 'Choose a value in that range.',
    lasting: 'permanent',
  },
  'SW-CFG-008': {
    template: '{at}: {path}: found "{found}", which is not a known {what}; known: {expected}.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-CFG-009': {
    template: '{at}: {path}: there is no {what} "{found}" in this file; there is: {expected}.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-CFG-010': {
    template: '{at}: {path}: "{found}" is given twice; first at line {firstLine}.',
    whatToDo: 'Give each one a name of its own, or remove one of the two.',
    lasting: 'permanent',
  },
  'SW-CFG-011': {
    template: '{at}: {path}: found {found}, expected an entity of the hub {expected}.',
    whatToDo: 'Copy the entity id from the hub, where it stands in the settings of the entity.',
    lasting: 'permanent',
  },
  'SW-CFG-012': {
    template: '{at}: {path}: found "{found}", which is not a time zone of the IANA data.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-CFG-013': {
    template: '{at}: {path}: a secret stands in the file in clear.',
    whatToDo:
      'Take it out and make a new one in its place, since this one may have been copied. Point to it instead: `{example}`.',
    lasting: 'permanent',
  },
  'SW-CFG-014': {
    template: '{at}: {path}: the limit on {measure} has no counter to measure it.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-CFG-015': {
    template: '{at}: {path}: found {found}, safe for rule {rule} is {expected}. The rule is there because {why}.',
    whatToDo: 'Stay within the range, or leave the key out for the default of {default}.',
    lasting: 'permanent',
  },
  'SW-CFG-016': {
    template: '{at}: {path}: found {found}, expected a day such as 2026-01-05 or an instant such as 2026-01-05T14:30Z.',
    whatToDo: 'Write year, month and day in this order. A day alone means its start in the zone of the tank.',
    lasting: 'permanent',
  },
  'SW-CFG-017': {
    template: '{at}: {path}: found {found}, expected exactly one of: {expected}.',
    whatToDo: 'Keep one of them and remove the rest.',
    lasting: 'permanent',
  },
  'SW-CFG-018': {
    template: '{at}: {path}: {conflict}.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-CFG-019': {
    template: 'The file {file} could not be read: {detail}.',
    whatToDo: 'Check the path and that this user may read it, or name another file.',
    lasting: 'permanent',
  },
  'SW-CFG-020': {
    template: 'The secret file {file} can be read by other users of this machine (mode {mode}).',
    whatToDo: 'Run `chmod 600 {file}` and start again.',
    lasting: 'permanent',
  },
  'SW-CFG-021': {
    template: 'The secret for {what} was not found: {where} is not set or is empty.',
    whatToDo: 'Set {where} for the user that runs the service, without quotes or spaces around the secret.',
    lasting: 'permanent',
  },
  'SW-CFG-022': {
    template:
      '{at}: {path}: found "{found}", expected a name of lower-case letters, digits and dashes, such as {example}.',
    whatToDo: 'Rename it, and every place that refers to it.',
    lasting: 'permanent',
  },
} as const satisfies CatalogueArea;
