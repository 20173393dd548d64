import { asSlackwaterError, type ErrorCode, problem, problemFrom, SlackwaterError } from '../errors/index.ts';

export type Answer = { readonly status: number; readonly body: Readonly<Record<string, unknown>> };

const STATUS: Readonly<Partial<Record<ErrorCode, number>>> = {
  'SW-API-001': 401,
  'SW-API-002': 401,
  'SW-API-003': 403,
  'SW-API-004': 421,
  'SW-API-005': 400,
  'SW-API-006': 404,
  'SW-API-007': 400,
  'SW-API-008': 413,
  'SW-API-009': 429,
  'SW-API-011': 500,
  'SW-API-012': 503,
  'SW-API-016': 503,
  'SW-SES-001': 404,
  'SW-SES-007': 403,
  'SW-SES-009': 404,
  'SW-SES-010': 403,
  'SW-SES-014': 404,
  'SW-SES-015': 400,
  'SW-REC-015': 404,
  'SW-REC-017': 404,
  'SW-GRD-001': 404,
  'SW-GRD-002': 403,
  'SW-GRD-003': 409,
  'SW-ACC-001': 404,
  'SW-ACC-002': 409,
  'SW-ACC-003': 409,
  'SW-ACC-004': 409,
  'SW-ACC-005': 409,
  'SW-ACC-006': 400,
  'SW-CLI-002': 404,
  'SW-CLI-011': 400,
  'SW-CLI-013': 400,
};

/** Sessions refuse because of the state things are in; a hub or store fault is not the caller's. */
function statusOf(error: SlackwaterError): number {
  const own = STATUS[error.code];
  if (own !== undefined) return own;
  if (error.code.startsWith('SW-SES-')) return 409;
  // Of the record only a broken entry is a fault of the service; the rest does not fit what is recorded.
  if (error.code.startsWith('SW-REC-') && error.code !== 'SW-REC-001' && error.code !== 'SW-REC-002') return 400;
  return error.transient ? 503 : 500;
}

/** `params` lets a client of the same catalogue word the error itself. */
export function answerTo(error: SlackwaterError, status: number = statusOf(error)): Answer {
  return { status, body: { ...error.toJSON(), params: error.params } };
}

type FrameworkError = { readonly code?: unknown; readonly statusCode?: unknown };

/** Turns what the router throws by itself into the catalogue's words; null where it is neither ours nor the router's. */
function fromFramework(error: FrameworkError, bodyLimit: string): Answer | null {
  switch (error.code) {
    case 'FST_ERR_CTP_INVALID_MEDIA_TYPE':
      return answerTo(problem('SW-API-005'), 415);
    case 'FST_ERR_CTP_BODY_TOO_LARGE':
      return answerTo(problem('SW-API-008', { limit: bodyLimit }));
    case 'FST_ERR_BAD_URL':
    case 'FST_ERR_MAX_PARAM_LENGTH':
      return answerTo(problem('SW-API-006', { method: 'that', path: 'address' }));
    default:
      return error.statusCode === 400 ? answerTo(problem('SW-API-005')) : null;
  }
}

export function answerToAnything(error: unknown, bodyLimit: string): { answer: Answer; fault: boolean } {
  if (error instanceof SlackwaterError) return { answer: answerTo(error), fault: false };
  const known = fromFramework((error ?? {}) as FrameworkError, bodyLimit);
  if (known !== null) return { answer: known, fault: false };
  const detail = asSlackwaterError(error).params['detail'] ?? 'no detail';
  return { answer: answerTo(problemFrom(error, 'SW-API-011', { detail })), fault: true };
}
