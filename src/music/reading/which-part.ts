import { ReedtraceError } from '../../errors.ts';
import type { Melody } from '../melody.ts';

/** Which tune of a file to read, and which of its parts or voices. */
export interface TuneChoice {
  /** From 1; the first if omitted. */
  readonly tune?: number;
  /** Name or number of a part or voice; the melody if omitted. */
  readonly part?: string;
  /** False to read what is repeated only once, with its last ending; if omitted, repeats are written out. */
  readonly repeats?: boolean;
}

/** A part or voice of a score. */
export interface NamedPart {
  readonly id: string;
  /** Null if it has no name. */
  readonly name: string | null;
}

/** Usual names of the part with the melody (common practice, no source). */
const MELODY =
  /\b(?:melod\w*|mélod\w*|harmonicas?|mundharmonika|voice|vocals?|solo|lead|sing(?:er|stimme)|tune|soprano?|sopran|gesang|chant|voix|voz|voce|canto)\b/i;
/** A part that sounds for a smaller share of the time than this, compared with the one that sounds longest, is not the melody. */
const SELDOM = 0.4;

/**
 * Reads the part or voice asked for, else the one named as the melody, else the highest that moves and sounds often enough.
 * @throws ReedtraceError E_USAGE if there is no such voice; E_MUSIC_INVALID if none has notes
 */
export function choosePart(
  voices: readonly NamedPart[],
  wanted: string | undefined,
  read: (voice: string) => Melody,
  name: string,
  what: 'part' | 'voice' | 'track',
): Melody {
  const called = ({ id, name: own }: NamedPart) => (own === null ? `'${id}'` : `'${id}' (${own})`);
  const list = voices.map(called).join(', ');
  if (wanted !== undefined) {
    const isWanted = ({ id, name: own }: NamedPart) =>
      id.toLowerCase() === wanted.toLowerCase() || own?.toLowerCase() === wanted.toLowerCase();
    const found = voices.find(isWanted) ?? voices[Number(wanted) - 1];
    if (found !== undefined) return read(found.id);
    throw new ReedtraceError('E_USAGE', `'${name}' has no ${what} '${wanted}'`, `choose one of ${list}`);
  }
  const named = voices.find(({ id, name: own }) => MELODY.test(own ?? '') || MELODY.test(id));
  const chosen = named ?? highest(voices, read) ?? voices[0];
  const why = chosen === named ? 'by its name' : 'the highest';
  const melody = read(chosen.id);
  const remark = `of ${voices.length} ${what}s ${called(chosen)} was read, ${why}; choose another with --part: ${list}`;
  return { ...melody, remarks: [remark, ...melody.remarks] };
}

function highest(voices: readonly NamedPart[], read: (voice: string) => Melody): NamedPart | null {
  const moving = voices.flatMap((voice) => {
    const { pitch, beats } = soundOf(voice, read);
    return pitch === null ? [] : [{ voice, pitch, beats }];
  });
  const longest = Math.max(...moving.map(({ beats }) => beats));
  const often = moving.filter(({ beats }) => beats >= SELDOM * longest);
  return often.sort((a, b) => b.pitch - a.pitch)[0]?.voice ?? null;
}

/** How long a voice sounds, and its mean MIDI number; null if it has no notes or never leaves its first pitch. */
function soundOf(
  { id }: NamedPart,
  read: (voice: string) => Melody,
): { pitch: number | null; beats: number } {
  try {
    const { notes } = read(id);
    const beats = notes.reduce((sum, { durationBeats }) => sum + durationBeats, 0);
    if (notes.every(({ midi }) => midi === notes[0].midi)) return { pitch: null, beats };
    return { pitch: notes.reduce((sum, { midi }) => sum + midi, 0) / notes.length, beats };
  } catch {
    // A voice without notes, such as one of rests only, is not the melody.
    return { pitch: null, beats: 0 };
  }
}
