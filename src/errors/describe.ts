import { problem, SlackwaterError } from './problem.ts';

/** What a person sees of any failure: code, sentence, what to do. Never a stack. */
export function describe(error: unknown): string {
  const known = error instanceof SlackwaterError ? error : problem('SW-CLI-010', { detail: plainText(error) });
  const lines = [`${known.code} ${known.message}`, ...known.details.flatMap(detailLines)];
  // A question needs no announcement.
  const isQuestion = known.whatToDo.startsWith('Did you mean');
  if (known.whatToDo !== '') lines.push(isQuestion ? known.whatToDo : `What to do: ${known.whatToDo}`);
  return lines.join('\n');
}

/** The error itself, or a catalogue error around anything else. */
export function asSlackwaterError(error: unknown): SlackwaterError {
  if (error instanceof SlackwaterError) return error;
  return new SlackwaterError('SW-CLI-010', { detail: plainText(error) }, { cause: error });
}

function detailLines(detail: SlackwaterError): string[] {
  return [`  ${detail.code} ${detail.message}`, `    ${detail.whatToDo}`];
}

/** First line only, without a closing dot, since the template sets one. */
function plainText(error: unknown): string {
  const text = error instanceof Error ? error.message || error.name : String(error);
  return (text.split('\n')[0] ?? '').replace(/\.$/, '');
}
