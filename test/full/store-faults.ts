import { execFileSync, spawnSync } from 'node:child_process';
import {
  chmodSync,
  chownSync,
  copyFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { SlackwaterError } from '../../src/errors/index.ts';
import { backupStore, MIGRATIONS, migrate, openStore, restoreStore } from '../../src/io/store/index.ts';
import { keptLog, realClock } from '../../src/io/system/index.ts';
import { killDuringCheckpoints } from './store-kills.ts';
import { type Confirmed, confirmedBy, type Fact, missingFrom, missingIn, runChild, startChild } from './store-world.ts';

// What is done to a store, what it says, and what is gone afterwards. Printed as a table by running this file.

export type FaultRow = {
  readonly done: string;
  /** Codes and words of the catalogue, or of the log. */
  readonly said: string;
  readonly codes: readonly string[];
  /** Confirmed writes that are no longer there, out of so many. */
  readonly lost: readonly string[];
  readonly confirmed: number;
  /** What had to be done to go on. */
  readonly afterwards: string;
};

export type Fault = { readonly name: string; readonly run: (folder: string) => Promise<FaultRow> };

const WRITES = 40;
/** Of the user with the fewest rights, where this runs as the one with all. */
const NOBODY = 65_534;
const isRoot = process.getuid?.() === 0;
const asUser = isRoot ? { uid: NOBODY } : {};

const sizeOf = ({ noted, counted }: Confirmed): number => noted.size + counted.size;
const saidBy = (facts: readonly Fact[]): string =>
  facts.flatMap(({ code, said, error }) => (code === undefined ? (error ?? []) : `${code}: ${said}`)).join(' / ');
const codesOf = (facts: readonly Fact[]): string[] => facts.flatMap(({ code }) => code ?? []);

/** A store with confirmed writes in it, closed by a service that ended well. */
async function written(folder: string, most = WRITES): Promise<{ file: string; confirmed: Confirmed }> {
  const file = join(folder, 'reef.db');
  const confirmed = confirmedBy(await runChild(file, { most }));
  if (confirmed.noted.size !== most) throw new Error('the store could not be prepared');
  return { file, confirmed };
}

/** The code and words with which opening, reading everything and writing are refused; null where they are not. */
export function refusal(file: string, confirmed: Confirmed): SlackwaterError | null {
  try {
    missingIn(file, confirmed);
    return null;
  } catch (error) {
    if (error instanceof SlackwaterError) return error;
    throw error;
  }
}

/** A small disk of its own where this may mount one. */
function smallDisk(folder: string, kilobytes: number): { readonly disk: string; readonly end: () => void } | null {
  const disk = join(folder, 'disk');
  mkdirSync(disk);
  const { status } = spawnSync('mount', ['-t', 'tmpfs', '-o', `size=${kilobytes}k`, 'tmpfs', disk], {
    stdio: 'ignore',
  });
  return status === 0 ? { disk, end: () => execFileSync('umount', [disk]) } : null;
}

const fullDisk: Fault = {
  name: 'full disk',
  async run(folder) {
    const small = smallDisk(folder, 3_000);
    if (small === null) return fullPages(folder);
    try {
      const file = join(small.disk, 'reef.db');
      const ballast = join(small.disk, 'ballast');
      writeFileSync(ballast, Buffer.alloc(2_000_000));
      const facts = await runChild(file, {});
      const confirmed = confirmedBy(facts);
      const whileFull = missingAtFull(file, confirmed);
      rmSync(ballast);
      const more = confirmedBy(await runChild(file, { first: 1_000_000, most: 5 }), confirmed);
      return {
        done: 'wrote on a disk of 3 MB until it was full',
        said: saidBy(facts),
        codes: codesOf(facts),
        lost: [...whileFull, ...missingIn(file, more)],
        confirmed: sizeOf(confirmed),
        afterwards: 'with room again it went on, nothing else to do',
      };
    } finally {
      small.end();
    }
  },
};

/** Looks without writing: on a full disk not even a mark can be set. */
function missingAtFull(file: string, confirmed: Confirmed): string[] {
  const store = openStore(file, { clock: realClock, log: keptLog(), readOnly: true });
  try {
    return confirmed.noted.size > 0
      ? missingFrom(store, confirmed)
      : ['nothing was confirmed before the disk was full'];
  } finally {
    store.close();
  }
}

/** Where no disk can be mounted: the file may not grow beyond so many pages. */
async function fullPages(folder: string): Promise<FaultRow> {
  const { file, confirmed } = await written(folder);
  const pages = Math.ceil(statSync(file).size / 4096);
  const store = openStore(file, { clock: realClock, log: keptLog(), limitPages: pages });
  let told: SlackwaterError | null = null;
  try {
    store.append({ v: 1, kind: 'note', at: 1, text: 'x'.repeat(500_000) });
  } catch (error) {
    if (!(error instanceof SlackwaterError)) throw error;
    told = error;
  } finally {
    store.close();
  }
  return {
    done: 'let the file not grow any more (no disk could be mounted)',
    said: `${told?.code}: ${told?.message}`,
    codes: told === null ? [] : [told.code],
    lost: missingIn(file, confirmed),
    confirmed: sizeOf(confirmed),
    afterwards: 'with room again it went on, nothing else to do',
  };
}

const fullDiskAtUpdate: Fault = {
  name: 'full disk while a store is brought up to date',
  async run(folder) {
    const small = smallDisk(folder, 3_000);
    const disk = small?.disk ?? folder;
    try {
      const file = join(disk, 'reef.db');
      const db = new DatabaseSync(file);
      migrate(db, file, MIGRATIONS.slice(0, 1));
      const put = db.prepare('INSERT INTO journal (booked_at, kind, entry) VALUES (?, ?, ?)');
      const texts = Array.from({ length: 2_000 }, (_, index) => `number ${index + 1} ${'x'.repeat(700)}`);
      db.exec('BEGIN');
      for (const [at, text] of texts.entries()) put.run(at, 'note', JSON.stringify({ v: 1, kind: 'note', at, text }));
      db.exec('COMMIT; PRAGMA journal_mode = WAL');
      db.close();
      const confirmed = { noted: new Set(texts.map((_, index) => index + 1)), counted: new Set<number>() };
      const before = readFileSync(file);
      const facts = small === null ? [] : await runChild(file, { most: 1 });
      const same = small === null || before.equals(readFileSync(file));
      if (small !== null) copyFileSync(file, join(folder, 'roomy.db'));
      const roomy = small === null ? file : join(folder, 'roomy.db');
      return {
        done: 'began the update of a store of the first version (1.7 MB) on a disk of 3 MB: no room for the copy before it',
        said: saidBy(facts),
        codes: codesOf(facts),
        lost: [...missingIn(roomy, confirmed), ...(same ? [] : ['the file was changed'])],
        confirmed: confirmed.noted.size,
        afterwards: 'the store was left at its version; updated once there was room',
      };
    } finally {
      small?.end();
    }
  },
};

const readOnlyFile: Fault = {
  name: 'read-only file',
  async run(folder) {
    const { file, confirmed } = await written(folder);
    chmodSync(folder, 0o777);
    chmodSync(file, 0o444);
    for (const name of [`${file}.lock`, `${file}.pid`]) chmodSync(name, 0o666);
    const facts = await runChild(file, { first: 900, most: 1, ...asUser });
    chmodSync(file, 0o600);
    return {
      done: 'took the right to write the file from the service',
      said: saidBy(facts),
      codes: codesOf(facts),
      lost: missingIn(file, confirmed),
      confirmed: sizeOf(confirmed),
      afterwards: 'with the right given back it opened',
    };
  },
};

const readOnlyFolder: Fault = {
  name: 'read-only folder',
  async run(folder) {
    const { file, confirmed } = await written(folder);
    if (isRoot) chownSync(file, NOBODY, NOBODY);
    chmodSync(folder, 0o555);
    const facts = await runChild(file, { first: 900, most: 1, ...asUser });
    chmodSync(folder, 0o755);
    return {
      done: 'took the right to write in the folder (the log lies there) from the service',
      said: saidBy(facts),
      codes: codesOf(facts),
      lost: missingIn(file, confirmed),
      confirmed: sizeOf(confirmed),
      afterwards: 'with the right given back it opened',
    };
  },
};

const twoServices: Fault = {
  name: 'second instance',
  async run(folder) {
    const file = join(folder, 'reef.db');
    const running = Promise.withResolvers<void>();
    const first = startChild(file, { onFact: ({ counted = 0 }) => counted >= WRITES && running.resolve() });
    await Promise.race([running.promise, first.ended]);
    const second = await runChild(file, { first: 900_000, most: 1 });
    first.process.kill('SIGKILL');
    await first.ended;
    const confirmed = confirmedBy(first.facts);
    return {
      done: 'started a second service on the store of a running one',
      said: saidBy(second).replace(String(first.process.pid), 'N'),
      codes: codesOf(second),
      lost: missingIn(file, confirmed),
      confirmed: sizeOf(confirmed),
      afterwards: 'the first went on undisturbed; after it was killed, the store opened without any cleaning up',
    };
  },
};

type Hurt = (file: string) => void;

function overwrite(file: string, at: number, length: number): void {
  const bytes = readFileSync(file);
  bytes.fill(0x5a, at, at + length);
  writeFileSync(file, bytes);
}

function pageOf(file: string, table: string): number {
  const db = new DatabaseSync(file, { readOnly: true });
  const page = Number(db.prepare('SELECT rootpage FROM sqlite_schema WHERE name = ?').get(table)?.['rootpage']);
  db.close();
  return (page - 1) * 4096;
}

/** Damage to a store of which there is a backup: told, the file kept, the backup brings everything back. */
function damaged(name: string, done: string, hurt: Hurt, isCutOff: boolean): Fault {
  return {
    name,
    async run(folder) {
      const { file, confirmed } = await written(folder, 200);
      const backup = join(folder, 'backup.db');
      await backupStore(file, backup);
      if (isCutOff) {
        const db = new DatabaseSync(file);
        db.exec(`INSERT INTO settings (key, value) VALUES ('open-since', '1')`);
        db.close();
      }
      hurt(file);
      const before = readFileSync(file);
      const told = refusal(file, confirmed);
      const again = refusal(file, confirmed);
      const { replaced } = await restoreStore(backup, file);
      const kept = replaced !== null && existsSync(replaced);
      const isSame = kept && before.length === readFileSync(replaced).length;
      return {
        done,
        said: told === null ? 'nothing' : `${told.code}: ${told.message.replaceAll(folder, '…')}`,
        codes: [told, again].flatMap((one) => one?.code ?? []),
        lost: [...missingIn(file, confirmed), ...(isSame ? [] : ['the damaged file was not kept'])],
        confirmed: sizeOf(confirmed),
        afterwards: 'counting stopped; `restore` of the backup, with the damaged file kept beside it',
      };
    },
  };
}

const damagedLog: Fault = {
  name: 'changed bytes in the log of a service that was killed',
  async run(folder) {
    const file = join(folder, 'reef.db');
    const running = Promise.withResolvers<void>();
    const child = startChild(file, { onFact: ({ counted = 0 }) => counted >= WRITES && running.resolve() });
    await Promise.race([running.promise, child.ended]);
    child.process.kill('SIGKILL');
    await child.ended;
    const confirmed = confirmedBy(child.facts);
    const bytes = readFileSync(`${file}-wal`);
    overwrite(`${file}-wal`, bytes.indexOf('number 30'), 4);
    const log = keptLog();
    const store = openStore(file, { clock: realClock, log });
    const [question] = store.questions();
    store.close();
    return {
      done: 'changed four bytes in the log (WAL) after a kill: SQLite drops everything behind them without a word',
      said: log.lines.find((line) => /^(warn|error)/.test(line))?.replaceAll(folder, '…') ?? 'nothing',
      codes: question === undefined ? [] : [question.kind],
      lost: missingIn(file, confirmed),
      confirmed: sizeOf(confirmed),
      afterwards:
        'nothing to do; the damaged log is kept. Where no later write held the same page, all behind it would be gone: an open question then asks a person to look',
    };
  },
};

export const KILLS = 200;

const kills: Fault = {
  name: 'kill -9 during checkpoint',
  async run() {
    const report = await killDuringCheckpoints(KILLS, 20_261_125);
    return {
      done: `killed a service ${report.kills} times while it wrote and emptied its log without pause (${report.duringCheckpoint} times inside a checkpoint)`,
      said: 'after each: not closed by its last run; checked, and in order',
      codes: [],
      lost: [...report.lost, ...report.damage],
      confirmed: sizeOf(report.confirmed),
      afterwards: 'nothing to do',
    };
  },
};

export const FAULTS: readonly Fault[] = [
  fullDisk,
  fullDiskAtUpdate,
  readOnlyFile,
  readOnlyFolder,
  twoServices,
  damaged(
    'a broken page',
    'overwrote a page of data, after an unclean stop',
    (file) => overwrite(file, pageOf(file, 'journal'), 4096),
    true,
  ),
  damaged('a broken heading', 'overwrote the first 100 bytes of the file', (file) => overwrite(file, 0, 100), false),
  damaged(
    'a changed letter',
    'changed one letter of a journal entry, which SQLite itself does not see',
    changeLetter,
    false,
  ),
  damagedLog,
  kills,
];

function changeLetter(file: string): void {
  const bytes = readFileSync(file);
  bytes.write('N', bytes.indexOf('number 120'));
  writeFileSync(file, bytes);
}

/** Runs one in a folder of its own. */
export async function runFault(fault: Fault): Promise<FaultRow> {
  const folder = mkdtempSync(join(tmpdir(), 'slackwater-fault-'));
  chmodSync(folder, 0o755);
  try {
    const row = await fault.run(folder);
    return { ...row, said: row.said.replaceAll(folder, '…') };
  } finally {
    rmSync(folder, { recursive: true });
  }
}

export function tableOf(rows: readonly FaultRow[]): string {
  const lines = rows.map(({ done, said, lost, confirmed, afterwards }) => {
    const gone = lost.length === 0 ? `nothing of ${confirmed} confirmed` : `${lost.length} of ${confirmed} confirmed`;
    return `| ${[done, said.replaceAll('|', '/'), gone, afterwards].join(' | ')} |`;
  });
  return ['| what was done | what was said | what was lost | afterwards |', '| --- | --- | --- | --- |', ...lines].join(
    '\n',
  );
}

if (import.meta.main) {
  const rows: FaultRow[] = [];
  for (const fault of FAULTS) rows.push(await runFault(fault));
  process.stdout.write(`${tableOf(rows)}\n`);
}
