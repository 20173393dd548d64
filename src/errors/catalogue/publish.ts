import type { CatalogueArea } from '../entry.ts';

export const PUBLISH_ERRORS = {
  'SW-PUB-001': {
    template: 'The dashboard template cannot be used: {where}: found {found}, expected {expected}.',
    whatToDo: 'Correct that place in dashboards/slackwater.yaml, or take the file as it was shipped.',
    lasting: 'permanent',
  },
  'SW-PUB-002': {
    template: 'The dashboard needs the button "{button}", which the hub does not have.',
    whatToDo: 'Wait until the service has made its helper buttons in the hub, then install the dashboard again.',
    lasting: 'transient',
  },
} as const satisfies CatalogueArea;
