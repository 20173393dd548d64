import { linkOf, NO_SERVICE, NO_SERVICE_TEXT, type NodeRed } from '../shared/index.ts';
import { runWear } from './controller.ts';

export function register(red: NodeRed): void {
  red.nodes.registerType('slackwater-wear', function (config) {
    red.nodes.createNode(this, config);
    const link = linkOf(red, config);
    if (link !== null) return runWear(this, config, link);
    this.status(NO_SERVICE);
    this.error(NO_SERVICE_TEXT);
  });
}
