// Starts, asks, stops and kills the service of the fault sequences.
import { type ChildProcess, fork } from 'node:child_process';
import { once } from 'node:events';
import { fileURLToPath } from 'node:url';
import type { Usages } from './fault-sequences-service.ts';

export type ServiceKeeper = {
  running(): boolean;
  /** Resolves when it has read the hub's history and counts live. */
  start(): Promise<void>;
  /** As the computer's own shut-down would. */
  stop(): Promise<void>;
  kill(): Promise<void>;
  usages(): Promise<Usages>;
  readonly log: readonly string[];
};

const CHILD = fileURLToPath(new URL('fault-sequences-service.ts', import.meta.url));

type Told = { readonly ready?: boolean; readonly usages?: Usages };

export function keepService(configFile: string): ServiceKeeper {
  const log: string[] = [];
  let child: ChildProcess | null = null;
  const present = (): ChildProcess => {
    if (child === null) throw new Error('the service does not run');
    return child;
  };
  const ended = (one: ChildProcess): Error =>
    new Error(`the service ended with ${one.exitCode ?? one.signalCode}:\n${log.slice(-30).join('\n')}`);
  /** The next message of it, or its end as an error. */
  const hear = (one: ChildProcess): Promise<Told> =>
    new Promise((resolve, reject) => {
      const gone = (): void => reject(ended(one));
      one.once('exit', gone);
      one.once('message', (told) => {
        one.off('exit', gone);
        resolve(told as Told);
      });
    });
  const exit = async (leave: (one: ChildProcess) => void): Promise<void> => {
    const one = present();
    child = null;
    const exited = once(one, 'exit');
    leave(one);
    await exited;
  };
  // A test that dies leaves no service behind.
  process.on('exit', () => child?.kill('SIGKILL'));
  return {
    log,
    running: () => child !== null,
    async start() {
      const one = fork(CHILD, [configFile], { stdio: ['ignore', 'inherit', 'pipe', 'ipc'] });
      child = one;
      one.once('exit', () => {
        if (child === one) child = null;
      });
      one.stderr?.setEncoding('utf8').on('data', (text: string) => log.push(...text.trimEnd().split('\n')));
      await hear(one);
    },
    stop: () => exit((one) => one.send({ ask: 'stop' })),
    kill: () => exit((one) => one.kill('SIGKILL')),
    async usages() {
      const one = present();
      const answer = hear(one);
      one.send({ ask: 'usage' });
      return (await answer).usages ?? {};
    },
  };
}
