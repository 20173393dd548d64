import type { CatalogueArea } from '../entry.ts';

/** No text here repeats what a caller sent in full: answers must not help in guessing a credential. */
export const API_ERRORS = {
  'SW-API-001': {
    template: 'No credential came with the request.',
    whatToDo: 'Send the header `Authorization: Bearer …` with a token named under `access` in the configuration.',
    lasting: 'permanent',
  },
  'SW-API-002': {
    template: 'The credential is not known.',
    whatToDo: 'Check that the token is the one in the file named under `access` in the configuration.',
    lasting: 'permanent',
  },
  'SW-API-003': {
    template: 'The credential of {who} may not {what}.',
    whatToDo: 'Use the credential of a person. A machine may look, start and abort.',
    lasting: 'permanent',
  },
  'SW-API-004': {
    template: 'The request named a host that this service does not answer to.',
    whatToDo: 'Use the address in the configuration, such as http://127.0.0.1:8787.',
    lasting: 'permanent',
  },
  'SW-API-005': {
    template: 'The body is not JSON.',
    whatToDo: 'Send `Content-Type: application/json` and a JSON object.',
    lasting: 'permanent',
  },
  'SW-API-006': {
    template: 'There is nothing at {method} {path}.',
    whatToDo: 'See the API page of the documentation for what there is.',
    lasting: 'permanent',
  },
  'SW-API-007': {
    template: 'The body does not fit: {path}: found {found}, expected {expected}.',
    whatToDo: 'Correct it and send it again. Nothing was done.',
    lasting: 'permanent',
  },
  'SW-API-008': {
    template: 'The body is larger than {limit}.',
    whatToDo: 'Send less at once.',
    lasting: 'permanent',
  },
  'SW-API-009': {
    template: 'Too many refused credentials; requests are answered again in {wait}.',
    whatToDo: 'Correct the token at the sender, then wait.',
    lasting: 'transient',
  },
  'SW-API-010': {
    template: 'The address {host}:{port} cannot be listened on: {detail}.',
    whatToDo: 'Choose another `api.port` in the configuration, or stop the program that uses it.',
    lasting: 'permanent',
  },
  'SW-API-011': {
    template: 'The request failed inside the service: {detail}.',
    whatToDo: 'This is a fault of the service. Please report it with the log of that minute.',
    lasting: 'transient',
  },
  'SW-API-012': {
    template: 'The service is stopping.',
    whatToDo: 'Try again when it has started.',
    lasting: 'transient',
  },
  'SW-API-013': {
    template: 'The credential of {who} has {found} characters; at least {needed} are needed.',
    whatToDo: 'Delete its token file and start again: the service then makes a new one that cannot be guessed.',
    lasting: 'permanent',
  },
  'SW-API-014': {
    template: 'The API cannot be opened on {host}: it answers on this machine only.',
    whatToDo: 'Set `api.host` to 127.0.0.1. Reach it from another machine through a tunnel with a login of its own.',
    lasting: 'permanent',
  },
  'SW-API-015': {
    template: 'The service at {url} did not answer {what} within {deadline}.',
    whatToDo: 'The outcome is unknown: look at the state before doing it again, and at the log of the service.',
    lasting: 'transient',
  },
  'SW-API-016': {
    template: 'There are {limit} listeners to events already.',
    whatToDo: 'Close one, or share one connection among those that listen.',
    lasting: 'transient',
  },
  'SW-API-017': {
    template: 'Something answers at {url}, but not as this service does: {detail}.',
    whatToDo: 'Check that address and port are those of `api` in the configuration of the service.',
    lasting: 'permanent',
  },
} as const satisfies CatalogueArea;
