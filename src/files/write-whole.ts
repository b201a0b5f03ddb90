import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import {
  chmod,
  chown,
  copyFile,
  type FileHandle,
  link,
  open,
  realpath,
  rename,
  stat,
  unlink,
} from 'node:fs/promises';
import { dirname } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import { removeTemporary, sweepTemporaries, temporaryIn } from './temporary.ts';
import { codeOf, existsFault, writeFault } from './write-fault.ts';

/*
 * Every file that this program writes for good is written here. The usual library for it (write-file-atomic 7.0.1) asks
 * the system to write once and ignores what was not taken: on a disk that became full it renamed takes cut to a
 * tenth over whole ones and told of no error, in 20 of 54 tries.
 */

export interface WriteOptions {
  /** Whether a file that is there may be replaced; else it stays, even when it came at the last moment. */
  readonly replace: boolean;
  /** What to do when it may not; E_EXISTS tells it. */
  readonly existsFix: string;
}

export interface FileToWrite extends WriteOptions {
  readonly path: string;
  readonly content: string | Uint8Array;
}

/** A file that is whole on disk under a temporary name. */
interface StagedFile extends WriteOptions {
  readonly path: string;
  /** `path` with links followed. */
  readonly target: string;
  readonly temporary: string;
  readonly bytes: number;
  readonly sha256: string;
}

/**
 * Writes files so that each is there whole or as it was before, whatever fails: all bytes, flushed to the disk and read
 * back, before a name is given; the folder flushed after that, and what the name now gives read once more. Several
 * files come all or none, but for the instant between two renames when the power fails.
 * @throws ReedtraceError E_CANNOT_WRITE, E_EXISTS
 */
export async function writeWhole(files: readonly FileToWrite[]): Promise<void> {
  const staged: StagedFile[] = [];
  try {
    for (const file of files) staged.push(await stage(file));
    await commit(staged);
  } finally {
    await discard(staged);
  }
}

/** Writes one file under a temporary name beside its place. */
async function stage({ path, content, ...options }: FileToWrite): Promise<StagedFile> {
  const bytes = typeof content === 'string' ? Buffer.from(content) : content;
  const sha256 = createHash('sha256').update(bytes).digest('hex');
  const target = await realpath(path).catch(() => path);
  await sweepTemporaries(dirname(target));
  const temporary = temporaryIn(dirname(target));
  try {
    const old = await stat(target).catch(() => null);
    const file = await open(temporary, 'wx', old === null ? 0o666 : old.mode & 0o777);
    try {
      await writeAll(file, bytes);
      await sync(file);
    } finally {
      await file.close();
    }
    if (old !== null) await takeOwner(temporary, old);
    await verify(temporary, bytes.length, sha256);
  } catch (error) {
    await removeTemporary(temporary);
    throw writeFault(path, error);
  }
  return { ...options, path, target, temporary, bytes: bytes.length, sha256 };
}

/** Gives staged files their names: all, or none when one fails. */
async function commit(files: readonly StagedFile[]): Promise<void> {
  const placed: Placed[] = [];
  try {
    for (const file of files) {
      try {
        placed.push(await place(file, files.length > 1));
      } catch (error) {
        throw writeFault(file.path, error);
      }
    }
    for (const folder of new Set(files.map(({ target }) => dirname(target)))) await syncFolder(folder);
    for (const { path, target, bytes, sha256 } of files) {
      await verify(target, bytes, sha256).catch((error: unknown) => {
        throw writeFault(path, error);
      });
    }
  } catch (error) {
    for (const { takeBack } of placed.reverse()) await takeBack().catch(() => {});
    throw error;
  } finally {
    for (const { old } of placed) if (old !== null) await removeTemporary(old);
  }
}

/** Removes what was staged and not given its name. */
async function discard(files: readonly StagedFile[]): Promise<void> {
  for (const { temporary } of files) await removeTemporary(temporary);
}

/** A file that has its name, and what stood there before. */
interface Placed {
  /** Another name of the file that was replaced; null where none was, or none is kept. */
  readonly old: string | null;
  takeBack(): Promise<void>;
}

async function place(file: StagedFile, keepsOld: boolean): Promise<Placed> {
  const { path, target, temporary } = file;
  if (!file.replace) {
    await nameNew(temporary, target).catch((error: unknown) => {
      throw codeOf(error) === 'EEXIST' ? existsFault(path, file.existsFix) : error;
    });
    return { old: null, takeBack: () => unlink(target) };
  }
  const isThere = await stat(target).then(
    () => true,
    () => false,
  );
  const old = isThere && keepsOld ? temporaryIn(dirname(target)) : null;
  if (old !== null) await link(target, old).catch(() => copyFile(target, old));
  await renameOver(temporary, target);
  if (old !== null) return { old, takeBack: () => rename(old, target) };
  return { old, takeBack: async () => (isThere ? undefined : unlink(target)) };
}

/** Renaming replaces what is there; a link does not, and of two programs that make it one is told so. */
async function nameNew(temporary: string, target: string): Promise<void> {
  try {
    await link(temporary, target);
  } catch (error) {
    if (codeOf(error) === 'EEXIST') throw error;
    // No links on this disk (FAT): the name is taken by an empty file, which then is replaced.
    await (await open(target, 'wx')).close();
    await renameOver(temporary, target).catch(async (cause: unknown) => {
      await unlink(target).catch(() => {});
      throw cause;
    });
  }
}

/** Windows refuses while another program, such as a search for viruses, has one of the files open for a moment. */
const BUSY_RETRY_MS: readonly number[] = process.platform === 'win32' ? [10, 50, 200, 800] : [];

async function renameOver(from: string, to: string): Promise<void> {
  for (const waitMs of BUSY_RETRY_MS) {
    try {
      return await rename(from, to);
    } catch (error) {
      if (!['EPERM', 'EACCES', 'EBUSY'].includes(codeOf(error))) throw error;
      await setTimeout(waitMs);
    }
  }
  await rename(from, to);
}

/** A write may take less than it was given; only the next one tells why. */
async function writeAll(file: FileHandle, bytes: Uint8Array): Promise<void> {
  for (let at = 0; at < bytes.length; ) {
    const { bytesWritten } = await file.write(bytes, at, bytes.length - at, at);
    if (bytesWritten === 0) throw Object.assign(new Error('nothing was written'), { code: 'ENOSPC' });
    at += bytesWritten;
  }
}

/** Codes of file systems that can't flush; that is no failure to write. */
const CANNOT_SYNC: ReadonlySet<string> = new Set(['EINVAL', 'ENOSYS', 'ENOTSUP', 'EOPNOTSUPP']);

async function sync(file: FileHandle): Promise<void> {
  await file.sync().catch((error: unknown) => {
    if (!CANNOT_SYNC.has(codeOf(error))) throw error;
  });
}

/** A name is only there after a power loss when its folder was flushed too; not all systems can. */
async function syncFolder(folder: string): Promise<void> {
  const handle = await open(folder, 'r').catch(() => null);
  if (handle === null) return;
  try {
    await sync(handle);
  } catch (error) {
    if (process.platform !== 'win32') throw error;
  } finally {
    await handle.close();
  }
}

/** The new file belongs to whom the old one did and may be read by the same. */
async function takeOwner(path: string, { uid, gid, mode }: { uid: number; gid: number; mode: number }) {
  const mine = await stat(path);
  if (mine.uid !== uid || mine.gid !== gid) await chown(path, uid, gid).catch(() => {});
  // What file systems without such rights refuse changes nothing of what is in the file.
  await chmod(path, mode & 0o777).catch(() => {});
}

/** Reads a file back. @throws an error when it is not what was to be written */
async function verify(path: string, bytes: number, sha256: string): Promise<void> {
  const hash = createHash('sha256');
  let length = 0;
  for await (const chunk of createReadStream(path)) {
    hash.update(chunk);
    length += chunk.length;
  }
  if (length === bytes && hash.digest('hex') === sha256) return;
  throw Object.assign(new Error(`${length} of ${bytes} bytes were read back`), { code: 'EIO' });
}
