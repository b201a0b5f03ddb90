import type { LeftOut } from '../analysis/playing/left-out.ts';
import type { FoundHarp } from '../harp/types.ts';
import type { Note } from '../tab/note.ts';
import { buildBeats, buildPhrases } from './music.ts';
import type { Take, TakeSource } from './schema.ts';
import { TAKE_VERSION } from './version.ts';

/** The results of an analysis that a take keeps. */
export interface Findings {
  readonly harp: FoundHarp;
  readonly notes: readonly Note[];
  /** Sounds that were left out. */
  readonly leftOut?: readonly LeftOut[];
  /** Positions in `notes`, both inclusive. */
  readonly phrases: readonly { firstNote: number; lastNote: number }[];
}

/** A new take, with no edits yet, of what was found in a recording. */
export function buildTake(source: TakeSource, findings: Findings): Take {
  const { harp, notes, phrases, leftOut = [] } = findings;
  return {
    format: 'reedtrace-take',
    version: TAKE_VERSION,
    source,
    harp: { ...harp, alternatives: harp.alternatives.map((other) => ({ ...other })) },
    notes: notes.map(({ tone, partialsDb, holes, holeBends, ornament, ornaments, ...note }) => ({
      ...note,
      intonation: note.intonation === null ? null : { ...note.intonation },
      leak: note.leak === null ? null : { ...note.leak },
      ...(tone === undefined ? {} : { tone: { ...tone } }),
      ...(partialsDb === undefined ? {} : { partialsDb: [...partialsDb] }),
      alternatives: note.alternatives.map((other) => ({ ...other })),
      flags: [...note.flags],
      ...(holes === undefined ? {} : { holes: [...holes] }),
      ...(holeBends === undefined ? {} : { holeBends: [...holeBends] }),
      ...(ornament === undefined ? {} : { ornament: { ...ornament } }),
      ...(ornaments === undefined ? {} : { ornaments: ornaments.map((one) => ({ ...one })) }),
    })),
    leftOut: leftOut.map((sound) => ({ ...sound })),
    beats: buildBeats(notes),
    phrases: buildPhrases(notes, phrases),
    words: [],
    edits: [],
  };
}
