import { type ConfigNode, type NodeConfig, type ServiceLink, serviceLink, textSetting } from '../shared/index.ts';

const DEFAULT_URL = 'http://127.0.0.1:8787';

/** The one connection that all nodes of this service share. */
export function linkFor(node: ConfigNode, config: NodeConfig): ServiceLink {
  const url = textSetting(config, 'url') || DEFAULT_URL;
  const token = (node.credentials?.token ?? '').trim();
  return serviceLink({ url, token, say: { info: (text) => node.log(text), warn: (text) => node.warn(text) } });
}
