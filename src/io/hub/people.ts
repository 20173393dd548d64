import type { Link } from './link.ts';

type PersonItem = { readonly name?: string; readonly user_id?: string | null };
type UserItem = { readonly id: string; readonly name?: string | null; readonly system_generated?: boolean };

/**
 * Names by the hub's user id: the home's persons first, then users of whom the hub knows no person. Either list may be
 * refused to a user without the rights; then those names stay unknown.
 */
export async function readPeople(link: Link): Promise<ReadonlyMap<string, string>> {
  const names = new Map<string, string>();
  const users = await link.call<readonly UserItem[]>({ type: 'config/auth/list' }).catch(() => []);
  for (const { id, name, system_generated: machine } of users) if (name && machine !== true) names.set(id, name);
  const lists = await link
    .call<{ readonly storage?: readonly PersonItem[]; readonly config?: readonly PersonItem[] }>({
      type: 'person/list',
    })
    .catch(() => ({}) as { storage?: readonly PersonItem[]; config?: readonly PersonItem[] });
  for (const { name, user_id: id } of [...(lists.config ?? []), ...(lists.storage ?? [])]) {
    if (id && name) names.set(id, name);
  }
  return names;
}
