import { basename } from 'node:path';
import { type Reference, referenceFromMelody, referenceFromTake } from '../../check/align/reference.ts';
import { ownParts } from '../../harp/playable.ts';
import { PLAYED_REMARK } from '../../music/reading/repeats.ts';
import type { TabStyle } from '../../tab/text.ts';
import type { Take } from '../../take/schema.ts';
import { readTuneFile, type TuneFile } from '../files/tune-file.ts';
import type { NamedHarp } from '../options/harp.ts';
import { type TuneArguments, tuneChoice } from '../options/tune.ts';
import type { Io } from '../terminal/io.ts';
import { oneLine } from '../terminal/message.ts';
import { kindOfFile, onNamedHarp, openTake } from './open-take.ts';

/** How to read a reference. */
interface ReferenceOptions extends TuneArguments {
  readonly quiet?: boolean;
  readonly tabStyle: TabStyle;
  /** True to read the repeats of a score only once where the student has played about that many notes. */
  readonly fitRepeats?: boolean;
}

/** Reads what a take is compared with. A tab file, which names no harp, is read for the student's own. */
export async function openReference(
  path: string,
  student: Take,
  harp: NamedHarp,
  options: ReferenceOptions,
  io: Io,
): Promise<Reference> {
  const name = path === '-' ? 'standard input' : basename(path);
  const kind = path === '-' ? 'other' : await kindOfFile(path);
  if (kind === 'take' || kind === 'recording') {
    const quiet = { quiet: options.quiet ?? false };
    const take = await openTake(path, kind === 'take' ? {} : harp, io, quiet);
    // A reference has its own harp; what is named only fills in a custom tuning that it doesn't hold.
    return referenceFromTake(name, onNamedHarp(take, { ...harp.custom, ...take.harp.custom }));
  }
  const { key, tuning } = student.harp;
  const own = harp.tuning === undefined ? ownParts(student.harp, student.harp.custom) : {};
  const named = { harp: key, tuning, ...harp, custom: { ...own, ...harp.custom } };
  const read = (once: boolean) => {
    const choice = { ...tuneChoice(options), ...(once ? { repeats: false } : {}) };
    return readTuneFile(path, named, options.tabStyle, io.stdin, choice);
  };
  let file = await read(false);
  const hasRepeats = file.melody.remarks.includes(PLAYED_REMARK);
  if (options.fitRepeats === true && hasRepeats && path !== '-') {
    const once = await read(true);
    const far = ({ melody }: TuneFile) => Math.abs(Math.log(melody.notes.length / student.notes.length));
    if (far(once) < far(file)) file = once;
  }
  if (options.quiet !== true) {
    for (const remark of file.melody.remarks) io.stderr.write(`remark: ${oneLine(`${name}: ${remark}`)}\n`);
  }
  const { played } = file;
  return referenceFromMelody(
    name,
    file.melody,
    played === undefined
      ? null
      : { tonicMidi: played.harp.tonicMidi, tuning: played.layout.id, tab: played.tab },
  );
}
