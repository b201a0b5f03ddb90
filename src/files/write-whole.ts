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
 * Every file that this program keeps is written here. The usual library (write-file-atomic 7.0.1) makes a single write call
 * and ignores bytes that were not accepted: on a disk that filled up, it replaced whole takes by a tenth of the new ones
 * without an error in 20 of 54 tries.
 */

export interface WriteOptions {
  /** Whether an existing file may be replaced; if not it stays, even if it appears at the last moment. */
  readonly replace: boolean;
  /** What the user can do if it may not, for E_EXISTS. */
  readonly existsFix: string;
}

export interface FileToWrite extends WriteOptions {
  readonly path: string;
  readonly content: string | Uint8Array;
}

/** A file that is complete on disk under a temporary name. */
interface StagedFile extends WriteOptions {
  readonly path: string;
  /** `path` with links resolved. */
  readonly target: string;
  readonly temporary: string;
  readonly bytes: number;
  readonly sha256: string;
}

/**
 * Writes files so that each is either complete or unchanged, whatever fails: all bytes are flushed to disk and read back before
 * the file is renamed; then the folder is flushed, and the renamed file is read once more. Several files are written all or
 * none, except in the instant between two renames if the power fails.
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

/** Writes one file under a temporary name in its destination folder. */
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

/** Renames staged files to their final names: all, or none if one fails. */
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

/** Removes staged files that were not renamed. */
async function discard(files: readonly StagedFile[]): Promise<void> {
  for (const { temporary } of files) await removeTemporary(temporary);
}

/** A file under its final name, and what it replaced. */
interface Placed {
  /** A second name for the file that was replaced; null if there was none, or none is kept. */
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

/** Renaming replaces an existing file; linking does not, and if two programs try it, one of them gets an error. */
async function nameNew(temporary: string, target: string): Promise<void> {
  try {
    await link(temporary, target);
  } catch (error) {
    if (codeOf(error) === 'EEXIST') throw error;
    // This disk has no links (FAT): claim the name with an empty file, then replace that.
    await (await open(target, 'wx')).close();
    await renameOver(temporary, target).catch(async (cause: unknown) => {
      await unlink(target).catch(() => {});
      throw cause;
    });
  }
}

/** Windows refuses while another program, such as a virus scanner, briefly has one of the files open. */
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

/** A write may accept fewer bytes than it was given; only the next one reports why. */
async function writeAll(file: FileHandle, bytes: Uint8Array): Promise<void> {
  for (let at = 0; at < bytes.length; ) {
    const { bytesWritten } = await file.write(bytes, at, bytes.length - at, at);
    if (bytesWritten === 0) throw Object.assign(new Error('nothing was written'), { code: 'ENOSPC' });
    at += bytesWritten;
  }
}

/** Errors of file systems that can't flush, which does not count as a failed write. */
const CANNOT_SYNC: ReadonlySet<string> = new Set(['EINVAL', 'ENOSYS', 'ENOTSUP', 'EOPNOTSUPP']);

async function sync(file: FileHandle): Promise<void> {
  await file.sync().catch((error: unknown) => {
    if (!CANNOT_SYNC.has(codeOf(error))) throw error;
  });
}

/** A new name survives a power loss only if its folder was flushed too; not all systems can do that. */
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

/** Gives the new file the owner and permissions of the old one. */
async function takeOwner(path: string, { uid, gid, mode }: { uid: number; gid: number; mode: number }) {
  const mine = await stat(path);
  if (mine.uid !== uid || mine.gid !== gid) await chown(path, uid, gid).catch(() => {});
  // A file system without permissions refuses, which does no harm to the content.
  await chmod(path, mode & 0o777).catch(() => {});
}

/** Reads a file back. @throws an error if it is not what was to be written */
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
