import { createHash } from 'node:crypto';
import { basename } from 'node:path';
import { ReedtraceError } from '../../errors.ts';

/** One of several equal shares of the recordings, for several computers or processes. */
export interface Shard {
  /** From 1 to `of`. */
  readonly index: number;
  readonly of: number;
}

/** @throws ReedtraceError E_USAGE */
export function parseShard(text: string): Shard {
  const [, index, of] = /^(\d{1,7})\/(\d{1,7})$/.exec(text.trim()) ?? [];
  const shard = { index: Number(index), of: Number(of) };
  if (shard.index >= 1 && shard.index <= shard.of) return shard;
  throw new ReedtraceError(
    'E_USAGE',
    `'${text}' is not a share`,
    'write `--shard 3/16` for the third of sixteen',
  );
}

/**
 * Whether a recording belongs to a share. This depends on its name alone, so that shares are the same on every
 * computer, whatever else arrives in the folder; recordings of the same name, whose takes would collide, are in the
 * same share.
 */
export function isInShard({ index, of }: Shard, path: string): boolean {
  const name = basename(path).normalize('NFC');
  return createHash('sha256').update(name).digest().readUIntBE(0, 6) % of === index - 1;
}
