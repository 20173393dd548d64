import assert from 'node:assert/strict';
import { chmod, mkdtemp, readdir, readFile, rm, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { test } from 'node:test';
import { SlackwaterError } from '../../../src/errors/index.ts';
import { ensureCredential, MIN_TOKEN_LENGTH, readCredential } from '../../../src/web/index.ts';

const code = (wanted: string) => (error: unknown) => error instanceof SlackwaterError && error.code === wanted;

async function inFolder(work: (folder: string) => Promise<void>): Promise<void> {
  const folder = await mkdtemp(join(tmpdir(), 'slackwater-credentials-'));
  try {
    await work(folder);
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

test('makes a token nobody else can read, and gives the same one ever after', async () => {
  await inFolder(async (folder) => {
    const file = join(folder, 'secrets', 'keeper.token');
    const [first, second] = await Promise.all([ensureCredential(file), ensureCredential(join(folder, 'other'))]);
    assert.match(first, /^[A-Za-z0-9_-]{43}$/);
    assert.ok(first.length >= MIN_TOKEN_LENGTH);
    assert.notEqual(first, second);
    assert.equal(await ensureCredential(file), first);
    const shared = await Promise.all(Array.from({ length: 20 }, () => ensureCredential(join(folder, 'shared'))));
    assert.equal(new Set(shared).size, 1, 'of many that start at once, all hold the same token');
    assert.deepEqual((await readdir(folder)).sort(), ['other', 'secrets', 'shared']);
    assert.equal(await readCredential(file), first);
    assert.equal((await readFile(file, 'utf8')).trim(), first);
    assert.equal((await stat(file)).mode & 0o777, 0o600);
    assert.equal((await stat(join(folder, 'secrets'))).mode & 0o777, 0o700);
  });
});

test('refuses a file that others can read, and says how to close it', async () => {
  await inFolder(async (folder) => {
    const file = join(folder, 'keeper.token');
    await ensureCredential(file);
    for (const mode of [0o640, 0o604, 0o660, 0o610]) {
      await chmod(file, mode);
      await assert.rejects(ensureCredential(file), (error) => {
        assert.ok(error instanceof SlackwaterError);
        assert.ok(error.whatToDo.includes(`chmod 600 ${file}`));
        return code('SW-CFG-020')(error);
      });
    }
    await chmod(file, 0o600);
    assert.match(await ensureCredential(file), /^[A-Za-z0-9_-]{43}$/);
  });
});

test('an empty, missing or impossible file is told apart from a good one', async () => {
  await inFolder(async (folder) => {
    const empty = join(folder, 'empty');
    await writeFile(empty, ' \n', { mode: 0o600 });
    await assert.rejects(ensureCredential(empty), code('SW-CFG-021'));
    await assert.rejects(readCredential(join(folder, 'missing')), code('SW-CFG-019'));
    await assert.rejects(ensureCredential(join(empty, 'below-a-file')), code('SW-CFG-019'));
    await assert.rejects(ensureCredential(folder), code('SW-CFG-019'));
  });
});
