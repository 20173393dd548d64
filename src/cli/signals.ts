/** Resolves on the first interrupt or termination. A second one ends the process at once. */
export function untilStopped(): Promise<void> {
  return new Promise((resolve) => {
    const once = (): void => {
      process.off('SIGINT', once);
      process.off('SIGTERM', once);
      resolve();
    };
    process.on('SIGINT', once);
    process.on('SIGTERM', once);
  });
}
