import type { CatalogueArea } from '../entry.ts';

export const CLI_ERRORS = {
  'SW-CLI-001': {
    template: 'Unknown command "{found}"; there is: {known}.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-CLI-002': {
    template: 'Unknown part "{found}"; there is: {known}.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-CLI-004': {
    template: 'The service does not answer at {url}.',
    whatToDo: 'Start it with `slackwater start`, or name its configuration with `--config`.',
    lasting: 'transient',
  },
  'SW-CLI-007': {
    template: 'The option {option} got "{found}", expected {expected}.',
    whatToDo: 'See `slackwater {command} --help`.',
    lasting: 'permanent',
  },
  'SW-CLI-008': {
    template: 'The argument {argument} is missing.',
    whatToDo: 'See `slackwater {command} --help`.',
    lasting: 'permanent',
  },
  'SW-CLI-009': {
    template: 'No configuration was found at {file}.',
    whatToDo: 'Copy docs/slackwater.example.yaml there and fit it to your tank, or name a file with `--config`.',
    lasting: 'permanent',
  },
  'SW-CLI-010': {
    template: 'Something unexpected happened: {detail}.',
    whatToDo: 'This is a fault of the program. Please report it with the command that was run.',
    lasting: 'permanent',
  },
  'SW-CLI-011': {
    template: 'A reading of "{found}" is not known; there is: {known}.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-CLI-012': {
    template: 'This runs on Node {found}; it needs {needed} or newer.',
    whatToDo: 'Run it through `npm run slackwater`, which brings the right one along.',
    lasting: 'permanent',
  },
  'SW-CLI-013': {
    template: 'Could not read "{found}": {why}.',
    whatToDo: 'Write it as in {example}.',
    lasting: 'permanent',
  },
  'SW-CLI-014': {
    template: 'There is no credential for "{found}"; there is one for: {known}.',
    whatToDo: 'Name one of these with `--as`, or add the person under `access` in the configuration.',
    lasting: 'permanent',
  },
  'SW-CLI-015': {
    template: 'Unknown option "{found}"; there is: {known}.',
    whatToDo: '{hint}',
    lasting: 'permanent',
  },
  'SW-CLI-016': {
    template: 'There is one word too many: "{found}".',
    whatToDo: 'Put text with spaces between quotes, or see `slackwater {path} --help`.',
    lasting: 'permanent',
  },
} as const satisfies CatalogueArea;
