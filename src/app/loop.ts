/** Work for the one loop. Handlers enqueue it and return; the loop runs it in order, at its own pace. */
export type Loop = {
  enqueue(name: string, work: () => void): void;
  /** Enqueues work and gives its result; a thrown error rejects the promise and does not stop the loop. */
  run<T>(name: string, work: () => T): Promise<T>;
  /**
   * Long work in small steps, each done between two `yield`s: it goes on only while nothing else waits, and the socket is
   * read after every few milliseconds of it. A thrown error rejects the promise; a stop of the loop leaves it open.
   */
  aside(name: string, steps: Iterable<unknown>): Promise<void>;
  /** Resolves when the queue is empty. */
  idle(): Promise<void>;
  depth(): number;
  stop(): void;
};

/** Items run in one go before the loop lets the socket be read again. */
const BURST = 64;
/** Long work gives way after so much of the processor's time: less than a report takes from the hub to its counter. */
const ASIDE_MS = 3;

/** `onFault` hears of work that threw: a fault of ours, never a reason to stop counting. */
export function createLoop(onFault: (name: string, error: unknown) => void): Loop {
  let queue: { readonly name: string; readonly work: () => void }[] = [];
  let head = 0;
  let scheduled = false;
  let stopped = false;
  let waiting: (() => void)[] = [];
  let asides: (() => boolean)[] = [];

  const someAside = (): void => {
    const [first] = asides;
    const began = performance.now();
    let isOver = false;
    while (first !== undefined && !isOver && !stopped && performance.now() - began < ASIDE_MS) isOver = first();
    if (isOver) asides = asides.slice(1);
  };
  const burst = (): void => {
    scheduled = false;
    const hadWork = head < queue.length;
    for (let n = 0; n < BURST && head < queue.length && !stopped; n++) {
      const item = queue[head++];
      if (item === undefined) break;
      try {
        item.work();
      } catch (error) {
        onFault(item.name, error);
      }
    }
    if (head >= queue.length) {
      queue = [];
      head = 0;
      const done = waiting;
      waiting = [];
      for (const resolve of done) resolve();
      if (!hadWork) someAside();
    }
    if (head < queue.length || asides.length > 0) schedule();
  };
  const schedule = (): void => {
    if (scheduled || stopped) return;
    scheduled = true;
    setImmediate(burst);
  };
  const enqueue = (name: string, work: () => void): void => {
    if (stopped) return;
    queue.push({ name, work });
    schedule();
  };
  return {
    enqueue,
    run: (name, work) =>
      new Promise((resolve, reject) => {
        if (stopped) return reject(new Error(`the service is stopping; ${name} was not done`));
        enqueue(name, () => {
          try {
            resolve(work());
          } catch (error) {
            reject(error);
          }
        });
      }),
    aside: (name, steps) =>
      new Promise((resolve, reject) => {
        if (stopped) return reject(new Error(`the service is stopping; ${name} was not done`));
        const work = steps[Symbol.iterator]();
        asides.push(() => {
          try {
            if (work.next().done !== true) return false;
            resolve();
          } catch (error) {
            reject(error);
          }
          return true;
        });
        schedule();
      }),
    idle: () => (head >= queue.length ? Promise.resolve() : new Promise((resolve) => waiting.push(() => resolve()))),
    depth: () => queue.length - head,
    stop: () => {
      stopped = true;
      for (const resolve of waiting) resolve();
      waiting = [];
    },
  };
}
