import type {
  LinkListener,
  LinkState,
  Message,
  NodeStatus,
  RunningNode,
  ServiceLink,
} from '../../../src/nodes/index.ts';

export type FakeNode = RunningNode & {
  readonly sent: Message[];
  readonly shown: NodeStatus[];
  readonly said: string[];
  /** Gives a message to the node and waits for its word that it is done. */
  input(message: Message): Promise<{ readonly out: readonly Message[]; readonly failure: string | undefined }>;
  close(): void;
};

/** A node as Node-RED makes one; `memory` is its context, which a deploy keeps. */
export function fakeNode(memory = new Map<string, unknown>()): FakeNode {
  type Input = (message: Message, send: (message: Message) => void, done: (failure?: string) => void) => void;
  const inputs: Input[] = [];
  const closes: (() => void)[] = [];
  const sent: Message[] = [];
  const shown: NodeStatus[] = [];
  const said: string[] = [];
  return {
    sent,
    shown,
    said,
    on(event: 'input' | 'close', handler: Input | (() => void)) {
      if (event === 'input') inputs.push(handler as Input);
      else closes.push(handler as () => void);
    },
    send: (message) => sent.push(structuredClone(message)),
    status: (status) => shown.push(status),
    log: (text) => said.push(text),
    warn: (text) => said.push(text),
    error: (text) => said.push(text),
    context: () => ({ get: (key) => memory.get(key), set: (key, value) => memory.set(key, structuredClone(value)) }),
    input: (message) =>
      new Promise((resolve) => {
        const out: Message[] = [];
        for (const input of inputs)
          input(
            message,
            (one) => out.push(one),
            (failure) => resolve({ out, failure }),
          );
      }),
    close: () => {
      for (const close of closes) close();
    },
  };
}

export type FakeLink = ServiceLink & {
  readonly asked: { readonly method: string; readonly path: string; readonly body: unknown }[];
  /** What requests are answered with; a function may wait or throw. */
  answer: (path: string) => unknown;
  readonly listeners: Set<LinkListener>;
  enter(state: LinkState): void;
};

export function fakeLink(answer: (path: string) => unknown): FakeLink {
  const listeners = new Set<LinkListener>();
  const asked: FakeLink['asked'] = [];
  return {
    asked,
    answer,
    listeners,
    async ask(method, path, body) {
      asked.push({ method, path, body });
      return await this.answer(path);
    },
    listen(listener) {
      listeners.add(listener);
      listener.onState({ kind: 'connecting' });
      return () => listeners.delete(listener);
    },
    close: () => listeners.clear(),
    enter(state) {
      for (const listener of listeners) listener.onState(state);
      if (state.kind === 'up') for (const listener of listeners) listener.onResync?.();
    },
  };
}
