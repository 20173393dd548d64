import type { Link } from './link.ts';

type Dashboard = { readonly url_path: string | null };

/** Saves a dashboard, making it first if the hub has none at that path. The hub wants a hyphen in the path. */
export async function saveDashboard(link: Link, urlPath: string, title: string, config: unknown): Promise<void> {
  const present = await link.call<readonly Dashboard[]>({ type: 'lovelace/dashboards/list' });
  if (!present.some((dashboard) => dashboard.url_path === urlPath)) {
    await link.call({
      type: 'lovelace/dashboards/create',
      url_path: urlPath,
      title,
      mode: 'storage',
      icon: 'mdi:fishbowl-outline',
      show_in_sidebar: true,
      require_admin: false,
    } as { type: string });
  }
  await link.call({ type: 'lovelace/config/save', url_path: urlPath, config } as { type: string });
}
