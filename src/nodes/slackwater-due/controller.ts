import {
  flagSetting,
  linkStatus,
  type NodeConfig,
  type RunningNode,
  type ServiceLink,
  said,
  standingsIn,
  textSetting,
  type WireStanding,
} from '../shared/index.ts';

/** "Not fine" holds the unknown too: what is not known is not fine. */
function chosen(all: readonly WireStanding[], show: string): readonly WireStanding[] {
  if (show === 'all') return all;
  if (show === 'due') return all.filter(({ word }) => word === 'due' || word === 'overdue');
  return all.filter(({ word }) => word !== 'fine');
}

export function runDue(node: RunningNode, config: NodeConfig, link: ServiceLink): void {
  const show = textSetting(config, 'show');
  let sent = false;
  let outputAtStart = flagSetting(config, 'atStart');

  const read = async (): Promise<readonly WireStanding[]> => {
    const list = chosen(standingsIn(await link.ask('GET', '/v1/due')), show);
    sent = true;
    const urgent = list.some(({ word }) => word === 'due' || word === 'overdue');
    node.status(said(list.length === 0 ? 'nothing' : `${list.length} listed`, Date.now(), urgent ? 'yellow' : 'green'));
    return list;
  };

  const leave = link.listen({
    onState: (state) => {
      if (!sent || state.kind !== 'up') node.status(linkStatus(state));
    },
    onResync: () => {
      if (!outputAtStart) return;
      // Once, at the first connection: later ones are no start.
      outputAtStart = false;
      read().then(
        (payload) => node.send({ topic: 'due', payload }),
        (error: Error) => node.error(error.message),
      );
    },
  });

  node.on('input', (message, send, done) => {
    read().then(
      (payload) => {
        message.payload = payload;
        send(message);
        done();
      },
      (error: Error) => {
        node.status({ fill: 'red', shape: 'ring', text: 'not read' });
        done(error.message);
      },
    );
  });
  node.on('close', leave);
}
