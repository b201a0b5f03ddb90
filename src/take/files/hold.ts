import { ReedtraceError } from '../../errors.ts';
import type { Edit } from '../edits/edit.ts';
import { applyEdit, openEdits } from '../edits/edits.ts';
import { diffTakes } from '../edits/patch.ts';
import type { Take } from '../schema.ts';
import { hashTake, journalPath } from './journal.ts';
import { lockTake, type TakeLock } from './lock.ts';
import { loadJournal, readJournal } from './recovery.ts';
import { checkUnchanged } from './since-opened.ts';
import { readTakeText } from './store.ts';

/** The parts that are kept, each as one edit that can be undone. */
const KEPT = ['beats', 'phrases', 'words'] as const;
export type KeptPart = (typeof KEPT)[number];

/** A take, and what it did not have before. */
interface Kept {
  readonly kept: readonly KeptPart[];
  readonly take: Take;
}

/** A take that is locked while its beats, phrases and words are set. */
export interface HeldTake {
  readonly take: Take;
  /**
   * The take with these beats, phrases and words, to be written.
   * @returns null when nothing changed
   * @throws ReedtraceError E_TAKE_CHANGED
   */
  keep(music: Pick<Take, KeptPart>, now: Date): Promise<Kept | null>;
  release(): void;
}

/**
 * Takes the lock of a take and reads it.
 * @throws ReedtraceError E_TAKE_IN_USE also when changes of the correction screen wait in its journal; E_CANNOT_WRITE
 */
export async function holdTake(path: string): Promise<HeldTake> {
  let lock: TakeLock;
  try {
    lock = lockTake(path);
  } catch (error) {
    if (!(error instanceof ReedtraceError)) throw error;
    const fix = `${error.fix}, or leave the take as it is with \`--no-save\``;
    throw new ReedtraceError(error.code, error.message, fix, { cause: error });
  }
  try {
    const { take, text } = await readTakeText(path);
    const hash = hashTake(text);
    if (readJournal(await loadJournal(path), take, hash).kind !== 'nothing') {
      throw new ReedtraceError(
        'E_TAKE_IN_USE',
        `unsaved changes are waiting in '${journalPath(path)}'`,
        'open it with `reedtrace correct` first, or leave the take as it is with `--no-save`',
      );
    }
    return {
      take,
      async keep(music, now) {
        await checkUnchanged(path, hash);
        return keep(take, music, now);
      },
      release: () => lock.release(),
    };
  } catch (error) {
    lock.release();
    throw error;
  }
}

function keep(take: Take, music: Pick<Take, KeptPart>, now: Date): Kept | null {
  let state = openEdits(take);
  const kept: KeptPart[] = [];
  for (const what of KEPT) {
    const patch = diffTakes(state.take, { ...state.take, [what]: music[what] });
    if (patch === null) continue;
    const line: Edit = {
      seq: state.take.edits.length + 1,
      at: now.toISOString(),
      by: 'player',
      what,
      patch,
    };
    state = applyEdit(state, line);
    kept.push(what);
  }
  return kept.length === 0 ? null : { kept, take: state.take };
}
