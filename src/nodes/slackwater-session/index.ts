import { linkOf, NO_SERVICE, NO_SERVICE_TEXT, type NodeRed } from '../shared/index.ts';
import { runSession } from './controller.ts';

export function register(red: NodeRed): void {
  red.nodes.registerType('slackwater-session', function (config) {
    red.nodes.createNode(this, config);
    const link = linkOf(red, config);
    if (link !== null) return runSession(this, config, link);
    this.status(NO_SERVICE);
    this.on('input', (_message, _send, done) => done(NO_SERVICE_TEXT));
  });
}
