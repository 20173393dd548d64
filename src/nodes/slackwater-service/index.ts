import type { NodeRed } from '../shared/index.ts';
import { linkFor } from './controller.ts';

export function register(red: NodeRed): void {
  red.nodes.registerType(
    'slackwater-service',
    function (config) {
      red.nodes.createNode(this, config);
      const link = linkFor(this, config);
      this.link = link;
      this.on('close', () => link.close());
    },
    { credentials: { token: { type: 'password' } } },
  );
}
