/**
 * The client library drops some of its own promises; when one of those fails, Node would end the process. While a hub is
 * in use such a failure is logged instead. Anything that is not the library's stays fatal: it is a fault of ours.
 */
export function guardLibrary(onCaught: (text: string) => void): () => void {
  const listener = (reason: unknown): void => {
    const text = libraryFailure(reason);
    if (text === null) throw reason;
    onCaught(text);
  };
  process.on('unhandledRejection', listener);
  return () => process.off('unhandledRejection', listener);
}

/** The library rejects with bare numbers and with the hub's error objects, never with an Error. Null = not one of them. */
export function libraryFailure(reason: unknown): string | null {
  if (typeof reason === 'number') return `library error ${reason}`;
  if (typeof reason !== 'object' || reason === null || reason instanceof Error) return null;
  const { code, message, error } = reason as { readonly code?: unknown; readonly message?: unknown; error?: unknown };
  if (error !== undefined) return libraryFailure(error);
  return code === undefined ? null : `${String(code)}: ${String(message)}`;
}
