import type { ServiceLink } from './link.ts';

/** The part of Node-RED's interface that the nodes use; its own package brings no types. */
export type Message = { topic?: unknown; payload?: unknown; [key: string]: unknown };

export type NodeStatus = {
  readonly fill?: 'red' | 'green' | 'yellow' | 'blue' | 'grey';
  readonly shape?: 'ring' | 'dot';
  readonly text?: string;
};

export type Send = (message: Message) => void;
/** Words rather than an Error, before which Node-RED would put the error's class name. */
export type Done = (failure?: string) => void;

export type RunningNode = {
  on(event: 'input', handler: (message: Message, send: Send, done: Done) => void): void;
  on(event: 'close', handler: () => void): void;
  send(message: Message): void;
  status(status: NodeStatus): void;
  log(text: string): void;
  warn(text: string): void;
  error(text: string): void;
  /** Memory of this node that outlives a deploy, not a restart of Node-RED. */
  context(): { get(key: string): unknown; set(key: string, value: unknown): void };
};

export type ConfigNode = RunningNode & { link?: ServiceLink; readonly credentials?: { readonly token?: string } };

export type NodeConfig = { readonly [key: string]: unknown };

export type NodeRed = {
  readonly nodes: {
    createNode(node: RunningNode, config: NodeConfig): void;
    getNode(id: string): unknown;
    registerType(
      type: string,
      construct: (this: ConfigNode, config: NodeConfig) => void,
      options?: { readonly credentials: Readonly<Record<string, { readonly type: 'text' | 'password' }>> },
    ): void;
  };
};

/** The link of the service node chosen in the form, or null. */
export function linkOf(red: NodeRed, config: NodeConfig): ServiceLink | null {
  const chosen = config['service'];
  const node = typeof chosen === 'string' && chosen !== '' ? red.nodes.getNode(chosen) : null;
  return (node as ConfigNode | null)?.link ?? null;
}

/** Settings of a flow file are strings and flags as some editor once wrote them. */
export function textSetting(config: NodeConfig, key: string): string {
  const value = config[key];
  return typeof value === 'string' ? value.trim() : '';
}

export function flagSetting(config: NodeConfig, key: string): boolean {
  return config[key] === true;
}
