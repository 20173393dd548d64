import type { Actor, Person } from '../model/index.ts';

/**
 * Who is behind a hub user. Only users the configuration names are persons: a hub also has users for programs, and a
 * program must not say "unplugged".
 */
export function actorOfHubUser(userId: string | null, people: readonly Person[]): Actor {
  if (userId === null) return { kind: 'unknown', via: 'hub, nobody logged in' };
  const person = people.find((one) => one.hubUserId === userId);
  return person === undefined
    ? { kind: 'unknown', via: `hub user ${userId}, not among the people of the configuration` }
    : { kind: 'person', name: person.name, via: 'hub' };
}
