import type { AlarmMessage } from '../../ports/index.ts';

/** One mail as it goes over the wire, CRLF at each end of a line. All text is encoded, so none of it can be a command. */
export function mailText(
  message: AlarmMessage,
  { from, to, id }: { readonly from: string; readonly to: readonly string[]; readonly id: string },
): string {
  const host = from.split('@').at(-1) ?? 'localhost';
  const subject = `${message.simulated ? 'SIMULATED: ' : ''}${message.title}: ${message.tank}`;
  const body = [
    message.text,
    '',
    `Tank: ${message.tank}`,
    `At: ${new Date(message.at).toISOString()}`,
    ...(message.simulated ? ['This is a simulated home.'] : []),
  ].join('\r\n');
  return [
    `From: <${from}>`,
    `To: ${to.map((address) => `<${address}>`).join(', ')}`,
    `Subject: ${encodedWords(subject)}`,
    `Date: ${new Date(message.at).toUTCString().replace('GMT', '+0000')}`,
    `Message-ID: <${id}@${host}>`,
    'MIME-Version: 1.0',
    'Auto-Submitted: auto-generated',
    ...(message.kind === 'alarm' ? ['Importance: high'] : []),
    'Content-Type: text/plain; charset=utf-8',
    'Content-Transfer-Encoding: base64',
    '',
    ...(Buffer.from(body, 'utf8')
      .toString('base64')
      .match(/.{1,76}/g) ?? []),
    '',
  ].join('\r\n');
}

/** An encoded word holds 75 characters at most, and never half a letter. */
const MOST_BYTES = 45;

function encodedWords(text: string): string {
  const words: string[] = [];
  let chunk = '';
  for (const letter of text) {
    if (Buffer.byteLength(chunk + letter) > MOST_BYTES) {
      words.push(chunk);
      chunk = '';
    }
    chunk += letter;
  }
  return [...words, chunk].map((word) => `=?utf-8?B?${Buffer.from(word).toString('base64')}?=`).join('\r\n ');
}
