// Who may talk to the simulated hub: users, their tokens and the hub's own login by name and password.
import { hexText, idText, type Prng } from '../random.ts';
import { HubRefusal } from './services.ts';

export type HubUser = {
  readonly id: string;
  readonly name: string;
  readonly username: string | null;
  readonly administrator: boolean;
  readonly owner: boolean;
};

export type Users = {
  add(name: string, options?: { id?: string; token?: string; administrator?: boolean; owner?: boolean }): HubUser;
  /** Gives a user a name and password to log in with. */
  setLogin(userId: string, username: string, password: string): void;
  byToken(token: string): HubUser | undefined;
  all(): readonly HubUser[];
  issueToken(userId: string, token?: string): string;
  /** Takes a token back: the next connection with it is refused. */
  revoke(token: string): void;
  /** One-use code for a right name and password; undefined else. */
  login(username: string, password: string): string | undefined;
  redeem(code: string): string | undefined;
};

export function createUsers(random: Prng): Users {
  const users = new Map<string, HubUser>();
  const tokens = new Map<string, string>();
  const logins = new Map<string, { readonly userId: string; readonly password: string }>();
  const codes = new Map<string, string>();
  const issueToken = (userId: string, token = `sim-${idText(random, 40).toLowerCase()}`): string => {
    tokens.set(token, userId);
    return token;
  };
  return {
    issueToken,
    add(name, options = {}) {
      const user: HubUser = {
        id: options.id ?? hexText(random, 32),
        name,
        username: null,
        administrator: options.administrator ?? false,
        owner: options.owner ?? false,
      };
      users.set(user.id, user);
      if (options.token !== undefined) issueToken(user.id, options.token);
      return user;
    },
    setLogin(userId, username, password) {
      const user = users.get(userId);
      if (user === undefined) throw new HubRefusal('not_found', 'User not found');
      if (logins.has(username)) throw new HubRefusal('username_exists', 'Username already exists');
      users.set(userId, { ...user, username });
      logins.set(username, { userId, password });
    },
    byToken: (token) => users.get(tokens.get(token) ?? ''),
    all: () => [...users.values()],
    revoke: (token) => {
      tokens.delete(token);
    },
    login(username, password) {
      const known = logins.get(username);
      if (known === undefined || known.password !== password) return undefined;
      const code = idText(random, 32).toLowerCase();
      codes.set(code, known.userId);
      return code;
    },
    redeem(code) {
      const userId = codes.get(code);
      codes.delete(code);
      return userId === undefined ? undefined : issueToken(userId);
    },
  };
}
