export type TextEvent = { readonly event: string; readonly data: string; readonly id: string | null };

/** Reads server-sent events from a body. Comments (heartbeats) are passed over; an unfinished last event is dropped. */
export async function* eventsIn(body: AsyncIterable<Uint8Array>): AsyncGenerator<TextEvent> {
  const decoder = new TextDecoder();
  let text = '';
  for await (const chunk of body) {
    text += decoder.decode(chunk, { stream: true });
    for (let end = text.indexOf('\n\n'); end >= 0; end = text.indexOf('\n\n')) {
      const event = oneEvent(text.slice(0, end));
      text = text.slice(end + 2);
      if (event !== null) yield event;
    }
  }
}

function oneEvent(block: string): TextEvent | null {
  let event = 'message';
  let id: string | null = null;
  const data: string[] = [];
  for (const line of block.split('\n')) {
    const [, field, value] = /^([a-z]+): ?(.*)$/.exec(line) ?? [];
    if (field === 'event') event = value ?? '';
    else if (field === 'id') id = value ?? '';
    else if (field === 'data') data.push(value ?? '');
  }
  return data.length === 0 ? null : { event, data: data.join('\n'), id };
}
