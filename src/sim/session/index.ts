// Sessions in virtual time, without sockets: a seeded home with physics, plugs, a link and a person, each of which can go
// wrong in named ways. Belongs here: what is true and what is heard of it. Not here: carrying a session out, judging it.

export { type Prng, prng, seedFor } from '../random.ts';
export * from './acts.ts';
export * from './faults.ts';
export * from './people.ts';
export * from './strike.ts';
export * from './tanks.ts';
export { giveAll, isNews, refresh, tellWhatIsDue } from './telling.ts';
export { typedFor } from './typing.ts';
export * from './world.ts';
