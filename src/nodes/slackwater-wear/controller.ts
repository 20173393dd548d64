import {
  flagSetting,
  isRecord,
  linkStatus,
  type NodeConfig,
  type RunningNode,
  type ServiceLink,
  said,
  standingsIn,
  type WireStanding,
} from '../shared/index.ts';

const MEMORY = 'lastWords';

/**
 * Sends a message on each change of standing, once. The last word known of each part outlives a deploy, so that a change
 * during a deploy or a lost link is told afterwards and nothing is told twice.
 */
export function runWear(node: RunningNode, config: NodeConfig, link: ServiceLink): void {
  const remembered = node.context().get(MEMORY);
  const known = new Map<string, string>(isRecord(remembered) ? (Object.entries(remembered) as [string, string][]) : []);
  let firstEver = known.size === 0;
  let sendAll = flagSetting(config, 'atStart');
  let sent = false;
  let closed = false;
  /** Work in order: an event that arrives while the standings are read anew waits for them, lest the older one win. */
  let queue: Promise<void> = Promise.resolve();

  const take = (standing: WireStanding, how: 'tell' | 'only-note'): void => {
    const before = known.get(standing.part) ?? null;
    if (before === standing.word && how !== 'tell') return;
    known.set(standing.part, standing.word);
    if (how !== 'tell') return;
    sent = true;
    const urgent = standing.word === 'due' || standing.word === 'overdue';
    node.status(said(`${standing.name}: ${standing.word}`, Date.now(), urgent ? 'yellow' : 'green'));
    node.send({ topic: standing.part, payload: standing, before });
  };
  const note = (standings: readonly WireStanding[]): void => {
    for (const standing of standings) {
      const changed = known.get(standing.part) !== standing.word;
      if (sendAll || (changed && !firstEver)) take(standing, 'tell');
      else if (changed) take(standing, 'only-note');
    }
    node.context().set(MEMORY, Object.fromEntries(known));
  };

  const enqueue = (work: () => Promise<void> | void): void => {
    queue = queue
      .then(async () => {
        if (!closed) await work();
      })
      .catch((error: unknown) => {
        if (!closed) node.error(error instanceof Error ? error.message : String(error));
      });
  };

  const leave = link.listen({
    onState: (state) => {
      if (!sent || state.kind !== 'up') node.status(linkStatus(state));
    },
    onResync: () =>
      enqueue(async () => {
        const standings = standingsIn(await link.ask('GET', '/v1/due'));
        if (closed) return;
        note(standings);
        firstEver = false;
        sendAll = false;
      }),
    onEvent: (event) => {
      if (event.kind !== 'standing') return;
      enqueue(() => {
        if (known.get(event.standing.part) === event.standing.word) return;
        if (!known.has(event.standing.part) && event.before !== null) known.set(event.standing.part, event.before);
        take(event.standing, 'tell');
        node.context().set(MEMORY, Object.fromEntries(known));
      });
    },
  });
  node.on('close', () => {
    closed = true;
    leave();
  });
}
