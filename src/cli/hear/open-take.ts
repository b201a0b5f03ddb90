import { basename } from 'node:path';
import { recogniseFormat, SNIFF_BYTES } from '../../audio/formats/sniff.ts';
import { ReedtraceError } from '../../errors.ts';
import { readStart } from '../../files/read-input.ts';
import { ownParts } from '../../harp/playable.ts';
import type { CustomHarp } from '../../harp/types.ts';
import { readTake } from '../../take/files/store.ts';
import type { Take } from '../../take/schema.ts';
import { buildTake } from '../../take/take.ts';
import { decodeText } from '../../text/decode-text.ts';
import type { NamedHarp } from '../options/harp.ts';
import type { Io } from '../terminal/io.ts';
import { oneLine } from '../terminal/message.ts';
import { createProgress } from '../terminal/progress.ts';
import { type Engine, hear, READING } from './hear.ts';

/** Loads the engine, which is needed only for recordings. */
async function loadEngine(): Promise<Engine> {
  const [{ readRecording }, { STAGES }, { transcribeOnCores }] = await Promise.all([
    import('../../audio/read.ts'),
    import('../../pipeline.ts'),
    import('./on-cores.ts'),
  ]);
  return { readRecording, transcribe: transcribeOnCores, stages: STAGES };
}

const TAKE_START = /^\s*\{/;

/** What a file is by its first bytes: a take (JSON), a recording, or something else such as a tune; `-` is a recording. */
export async function kindOfFile(path: string): Promise<'take' | 'recording' | 'other'> {
  if (path === '-') return 'recording';
  const head = await readStart(path, SNIFF_BYTES);
  if (head === null) return 'other'; // reading it will say what is wrong
  if (TAKE_START.test(decodeText(head.subarray(0, 64)))) return 'take';
  try {
    recogniseFormat(head, basename(path));
    return 'recording';
  } catch {
    return 'other';
  }
}

/** The take with another custom tuning or temperament, if it was made with one. */
export function onNamedHarp(take: Take, named: CustomHarp = {}): Take {
  const custom = ownParts(take.harp, { ...take.harp.custom, ...named });
  return custom === undefined ? take : { ...take, harp: { ...take.harp, custom } };
}

/**
 * A take from its file, or from a recording, which is transcribed first; nothing is saved.
 * @throws ReedtraceError E_NOT_FOUND, E_TAKE_INVALID, E_NOT_AUDIO, E_NOTHING_PLAYED, E_INTERRUPTED, …
 */
export async function openTake(
  path: string,
  harp: NamedHarp,
  io: Io,
  { quiet }: { readonly quiet: boolean },
): Promise<Take> {
  if ((await kindOfFile(path)) === 'take') {
    const take = await readTake(path);
    if (take.notes.length === 0) {
      throw new ReedtraceError('E_NOTHING_PLAYED', `'${path}' has no notes`, 'give a take with notes');
    }
    return onNamedHarp(take, harp.custom);
  }
  const engine = await loadEngine();
  const progress = createProgress(io, { quiet, stages: [READING, ...engine.stages] });
  const name = path === '-' ? 'standard input' : basename(path);
  try {
    progress.begin(name);
    const heard = await hear(engine, path, harp, io.signal, (stage, fraction) =>
      progress.report(stage, fraction),
    );
    progress.clear();
    if (!quiet) {
      for (const remark of heard.remarks) io.stderr.write(`remark: ${oneLine(`${name}: ${remark}`)}\n`);
    }
    return buildTake(heard.source, heard.findings);
  } finally {
    progress.clear();
  }
}
