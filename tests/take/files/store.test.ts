import { once } from 'node:events';
import { chmod, mkdir, mkdtemp, readdir, readFile, rm, symlink, writeFile } from 'node:fs/promises';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { ReedtraceError } from '../../../src/errors.ts';
import { readTake, writeTake } from '../../../src/take/files/store.ts';
import { buildTake } from '../../../src/take/take.ts';
import { EXAMPLE_SOURCE, exampleFindings } from '../example.ts';

const take = buildTake(EXAMPLE_SOURCE, exampleFindings(['4 -4']));
let dir: string;
beforeEach(async () => {
  dir = await mkdtemp(join(tmpdir(), 'reedtrace-store-'));
});
afterEach(() => rm(dir, { recursive: true, force: true }));

const failureOf = (work: Promise<unknown>) =>
  work.then(
    () => {
      throw new Error('did not fail');
    },
    (error: ReedtraceError) => ({
      code: error.code,
      message: error.message.replaceAll(dir, 'DIR'),
      fix: error.fix,
    }),
  );

describe('writeTake', () => {
  it('writes a take that reads back, returns its size, and leaves nothing else', async () => {
    const bytes = await writeTake(join(dir, 'a.take.json'), take, { force: false });
    expect(await readTake(join(dir, 'a.take.json'))).toEqual(take);
    expect((await readFile(join(dir, 'a.take.json'))).length).toBe(bytes);
    expect(await readdir(dir)).toEqual(['a.take.json']);
  });

  it('never replaces a file unless forced', async () => {
    await writeFile(join(dir, 'a.take.json'), 'mine');
    expect(await failureOf(writeTake(join(dir, 'a.take.json'), take, { force: false }))).toEqual({
      code: 'E_EXISTS',
      message: "'DIR/a.take.json' already exists",
      fix: '`reedtrace correct` corrects notes and harp, `reedtrace export --words` adds words; `--force` transcribes again without your corrections, `--out` saves elsewhere, `--no-save` only prints',
    });
    expect(await readFile(join(dir, 'a.take.json'), 'utf8')).toBe('mine');
    await writeTake(join(dir, 'a.take.json'), take, { force: true });
    expect(await readTake(join(dir, 'a.take.json'))).toEqual(take);
  });

  it('does not follow a link to an existing file unless forced', async () => {
    await writeFile(join(dir, 'real'), 'mine');
    await symlink(join(dir, 'real'), join(dir, 'a.take.json'));
    const failure = await failureOf(writeTake(join(dir, 'a.take.json'), take, { force: false }));
    expect(failure.code).toBe('E_EXISTS');
    expect(await readFile(join(dir, 'real'), 'utf8')).toBe('mine');
  });

  it.each([
    ['in a folder that is missing', 'no/a.take.json', /its folder does not exist \(ENOENT\)/],
    ['in a folder that is a file', 'file/a.take.json', /its folder is a file \(ENOTDIR\)/],
    ['over a folder', 'folder', /'DIR\/folder' is a folder/],
    [
      'under a name that is too long',
      `${'x'.repeat(300)}.take.json`,
      /the name is too long \(ENAMETOOLONG\)/,
    ],
  ])('says so %s', async (_where, path, message) => {
    await writeFile(join(dir, 'file'), '');
    await mkdir(join(dir, 'folder'));
    const failure = await failureOf(writeTake(join(dir, path), take, { force: true }));
    expect(failure.code).toBe('E_CANNOT_WRITE');
    expect(failure.message).toMatch(message);
    expect(await readdir(dir)).toEqual(['file', 'folder']);
  });

  // A socket stands for all that is neither file nor folder; a real device would be at risk should the check break.
  it.skipIf(process.platform === 'win32')('refuses a device even when forced', async () => {
    const path = join(dir, 'socket');
    const server = createServer().listen(path);
    await once(server, 'listening');
    const failure = await failureOf(writeTake(path, take, { force: true }));
    server.close();
    expect(failure).toMatchObject({ code: 'E_CANNOT_WRITE', message: "'DIR/socket' is a device" });
  });

  // The superuser may write anywhere, so there is nothing to see then.
  it.skipIf(process.getuid?.() === 0)('says that writing is not allowed', async () => {
    await chmod(dir, 0o500);
    const failure = await failureOf(writeTake(join(dir, 'a.take.json'), take, { force: false }));
    await chmod(dir, 0o700);
    expect(failure).toMatchObject({ code: 'E_CANNOT_WRITE' });
    expect(failure.message).toContain('not allowed (EACCES)');
  });
});

describe('readTake', () => {
  it.each([
    ['missing.take.json', 'E_NOT_FOUND', "'DIR/missing.take.json' does not exist"],
    ['.', 'E_NOT_A_FILE', 'is a folder'],
    ['text', 'E_TAKE_INVALID', "'text' is not JSON"],
  ])('refuses %s', async (name, code, message) => {
    await writeFile(join(dir, 'text'), 'just words');
    const failure = await failureOf(readTake(join(dir, name)));
    expect(failure.code).toBe(code);
    expect(failure.message).toContain(message);
  });
});
