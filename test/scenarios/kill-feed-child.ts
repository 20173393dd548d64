import { appendFileSync, existsSync, readFileSync } from 'node:fs';
import { createInterface } from 'node:readline';
import { createFolder } from '../../src/count/index.ts';
import { openStore } from '../../src/io/store/index.ts';
import { keptLog, realClock, realRandom } from '../../src/io/system/index.ts';
import type { EntityId } from '../../src/model/index.ts';
import { mergeByTime, type Observation } from '../../src/observe/index.ts';
import { openReminders } from '../../src/record/index.ts';
import { type Reminder, reminders } from '../../src/remind/index.ts';
import { KILL_DEFS, killFeed, noLives, standingsOf } from './kill-feed.ts';

// A small service: reads history from its cursors on, then follows what the parent lets happen, and is killed at any moment.
// Lines on standard input: "begin N" (history holds the first N rows of the feed), "live A B" (rows A to B arrive), "end".

const [storeFile = '', noticeFile = '', seed = '1', rows = '0'] = process.argv.slice(2);
const feed = killFeed(Number(seed), Number(rows));
const HISTORY_OVERLAP_MS = 5_000;
const HISTORY_BATCH = 60;

const tell = (line: string): void => void process.stdout.write(`${line}\n`);

/** As the hub keeps them: a notification of that name is there already, or it is made and pushed. */
function notify({ key }: Reminder): void {
  const told = existsSync(noticeFile) ? readFileSync(noticeFile, 'utf8').split('\n') : [];
  if (!told.includes(key)) appendFileSync(noticeFile, `${key}\n`);
}

function service() {
  const store = openStore(storeFile, { clock: realClock, log: keptLog() });
  const folder = createFolder(KILL_DEFS, store.counterStates());

  const journal = ({ key, token, part, life, word }: Reminder, change: 'sending' | 'raised'): void => {
    store.append({ v: 1, kind: 'reminder', at: realClock.now(), key, change, token, part, life, word });
  };
  const remind = (): void => {
    const standings = standingsOf(store.counterStates().get('lamp'));
    const open = openReminders(store.journal(['reminder']));
    for (const effect of reminders({ open, standings, lives: noLives, newToken: realRandom.token })) {
      if (effect.kind !== 'raise') continue;
      journal(effect.reminder, 'sending');
      notify(effect.reminder);
      journal(effect.reminder, 'raised');
    }
  };
  const commit = (batch: readonly Observation[]): void => {
    if (batch.length === 0) return;
    const cursors = new Map<EntityId, number>();
    for (const observation of batch) {
      folder.take(observation);
      cursors.set(observation.entity, observation.at);
    }
    const { states, slices, resets } = folder.result();
    store.commitCounts({ states: [...states.values()], slices, resets, cursors });
    remind();
    tell(`at ${batch.at(-1)?.at}`);
  };
  const history = (until: number): readonly Observation[] => {
    const cursors = store.cursors();
    return feed
      .slice(0, until)
      .filter(({ entity, at }) => at > (cursors.get(entity) ?? 0) - HISTORY_OVERLAP_MS)
      .map((row) => ({ ...row, origin: 'history' as const }));
  };
  return { store, remind, commit, history };
}

type Service = ReturnType<typeof service>;
let running: Service | null = null;

function obey(line: string): void {
  const [word, a, b] = line.split(' ');
  if (word === 'begin') {
    running = service();
    running.remind();
    tell('history');
    const known = mergeByTime([running.history(Number(a))]);
    for (let from = 0; from < known.length; from += HISTORY_BATCH)
      running.commit(known.slice(from, from + HISTORY_BATCH));
    tell('live');
  } else if (word === 'live') {
    running?.commit(mergeByTime([feed.slice(Number(a), Number(b))]));
  } else if (word === 'end') {
    running?.store.close();
    tell('closed');
    process.exit(0);
  }
}

tell('ready');
createInterface({ input: process.stdin }).on('line', obey);
