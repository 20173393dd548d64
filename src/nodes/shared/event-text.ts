export type TextEvent = { readonly event: string; readonly data: string };

/**
 * Reads server-sent events from a body. `onBytes` is called for whatever arrives, heartbeats too: it proves the link.
 * The API reads its own events elsewhere; this copy travels alone with the nodes' package.
 */
export async function* eventsOf(body: AsyncIterable<Uint8Array>, onBytes: () => void): AsyncGenerator<TextEvent> {
  const decoder = new TextDecoder();
  let text = '';
  for await (const chunk of body) {
    onBytes();
    text += decoder.decode(chunk, { stream: true });
    for (let end = text.indexOf('\n\n'); end >= 0; end = text.indexOf('\n\n')) {
      const block = text.slice(0, end);
      text = text.slice(end + 2);
      const data = [...block.matchAll(/^data: ?(.*)$/gm)].map((match) => match[1] ?? '');
      const event = /^event: ?(.*)$/m.exec(block)?.[1] ?? 'message';
      if (data.length > 0) yield { event, data: data.join('\n') };
    }
  }
}
