import { basename } from 'node:path';
import { type Reference, referenceFromMelody, referenceFromTake } from '../../check/align/reference.ts';
import { ownParts } from '../../harp/playable.ts';
import type { TabStyle } from '../../tab/text.ts';
import type { Take } from '../../take/schema.ts';
import { readTuneFile } from '../files/tune-file.ts';
import type { NamedHarp } from '../options/harp.ts';
import { type TuneArguments, tuneChoice } from '../options/tune.ts';
import type { Io } from '../terminal/io.ts';
import { oneLine } from '../terminal/message.ts';
import { kindOfFile, onNamedHarp, openTake } from './open-take.ts';

/** How to read a reference. */
interface ReferenceOptions extends TuneArguments {
  readonly quiet?: boolean;
  readonly tabStyle: TabStyle;
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
  const file = await readTuneFile(path, named, options.tabStyle, io.stdin, tuneChoice(options));
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
