// Loaded by the settings file inside Node-RED's own process: reports over the process channel which messages reach which
// node and what the nodes show, and presses buttons as the editor's own press does.
type Runtime = {
  readonly hooks: { add(id: string, hook: (event: { destination: { id: string }; msg: unknown }) => void): void };
  readonly events: { on(name: string, listener: (event: never) => void): void };
  readonly nodes: { getNode(id: string): { receive(message: unknown): void } | null };
};

export type FromNodeRed =
  | { readonly kind: 'received'; readonly node: string; readonly message: Readonly<Record<string, unknown>> }
  | { readonly kind: 'status'; readonly node: string; readonly status: Readonly<Record<string, unknown>> }
  | { readonly kind: 'started' };

export type ToNodeRed = { readonly deliver: string; readonly message?: Readonly<Record<string, unknown>> };

export function bridge(runtime: Runtime): void {
  const tell = (what: FromNodeRed): void => {
    process.send?.(what);
  };
  runtime.hooks.add('onReceive.scenario', ({ destination, msg }) => {
    const { _msgid, ...message } = JSON.parse(JSON.stringify(msg ?? {}));
    tell({ kind: 'received', node: destination.id, message });
  });
  runtime.events.on('node-status', ({ id, status }: { id: string; status: Record<string, unknown> }) => {
    tell({ kind: 'status', node: id, status });
  });
  runtime.events.on('flows:started', () => tell({ kind: 'started' }));
  process.on('message', (order: ToNodeRed | string) => {
    if (typeof order === 'string') return;
    runtime.nodes.getNode(order.deliver)?.receive(order.message);
  });
}
