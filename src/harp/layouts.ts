import { Note } from 'tonal';
import { ReedtraceError } from '../errors.ts';
import { plainText } from '../plain-text.ts';

/** Number of holes of the instrument. */
export const HOLES = 10;

/** Which reed sits where, in semitones above the hole-1 blow reed, and how the maker prints the key. */
export interface Layout {
  /** Plain id, as in `--tuning richter`. */
  readonly id: string;
  /** The same in words, for charts and help. */
  readonly name: string;
  /** Ten offsets in semitones from hole-1 blow, hole 1 first; `blow[0]` is 0. */
  readonly blow: readonly number[];
  readonly draw: readonly number[];
  /** The printed key is this many semitones above the hole-1 blow note. */
  readonly labelSemitones: number;
  /** What is printed after the key, `minor` or nothing. */
  readonly labelSuffix: string;
  /** For a custom tuning: MIDI number of hole-1 blow in its file, used when no key is given. */
  readonly writtenTonicMidi?: number | undefined;
}

const RICHTER_BLOW = [0, 4, 7, 12, 16, 19, 24, 28, 31, 36];
const RICHTER_DRAW = [2, 7, 11, 14, 17, 21, 23, 26, 29, 33];
const RAISED_THIRD_BLOW = [0, 4, 9, 12, 16, 19, 24, 28, 31, 36];
const MINOR_BLOW = [0, 3, 7, 12, 15, 19, 24, 27, 31, 36];

/*
 * Row: id, name, blow offsets, draw offsets, label semitones, label suffix.
 * Sources of the reeds: richter https://oeis.org/A291810; raised-third
 * https://harp-l.org/pipermail/harp-l/2003-August/msg00530.html; country, natural-minor, harmonic-minor,
 * raised-third-country http://www.liquisearch.com/richter-tuned_harmonica/specially-tuned_instruments; dorian
 * http://patmissin.com/articles/AHN3.html; solo https://en.wikipedia.org/wiki/Solo_tuning (first ten holes);
 * circular http://praiseharp.us/articles/circular.html; major-seventh: common practice, no source.
 * Labels: natural minor and raised-third-country are printed by their second-position key, the others by hole-1
 * blow (same pages; dorian, major-seventh and solo: common practice, no source).
 */
export const LAYOUTS: readonly Layout[] = [
  row('richter', 'Richter', RICHTER_BLOW, RICHTER_DRAW, 0, ''),
  row('raised-third', 'Richter with 3 blow raised a whole tone', RAISED_THIRD_BLOW, RICHTER_DRAW, 0, ''),
  row('country', 'country (5 draw raised)', RICHTER_BLOW, [2, 7, 11, 14, 18, 21, 23, 26, 29, 33], 0, ''),
  row(
    'major-seventh',
    'major seventh (5 and 9 draw raised)',
    RICHTER_BLOW,
    [2, 7, 11, 14, 18, 21, 23, 26, 30, 33],
    0,
    '',
  ),
  row('natural-minor', 'natural minor', MINOR_BLOW, [2, 7, 10, 14, 17, 21, 22, 26, 29, 33], 7, 'minor'),
  row('harmonic-minor', 'harmonic minor', MINOR_BLOW, [2, 7, 11, 14, 17, 20, 23, 26, 29, 32], 0, 'minor'),
  row(
    'dorian',
    'dorian in second position (3 and 7 draw lowered)',
    RICHTER_BLOW,
    [2, 7, 10, 14, 17, 21, 22, 26, 29, 33],
    0,
    '',
  ),
  row(
    'solo',
    'solo (first ten holes)',
    [0, 4, 7, 12, 12, 16, 19, 24, 24, 28],
    [2, 5, 9, 11, 14, 17, 21, 23, 26, 29],
    0,
    '',
  ),
  row(
    'circular',
    'circular',
    [0, 4, 7, 10, 14, 17, 21, 24, 28, 31],
    [2, 5, 9, 12, 16, 19, 22, 26, 29, 33],
    0,
    '',
  ),
  row(
    'raised-third-country',
    'Richter with 3 blow, 5 draw and 9 draw raised',
    RAISED_THIRD_BLOW,
    [2, 7, 11, 14, 18, 21, 23, 26, 30, 33],
    7,
    '',
  ),
];

function row(
  id: string,
  name: string,
  blow: readonly number[],
  draw: readonly number[],
  labelSemitones: number,
  labelSuffix: string,
): Layout {
  return { id, name, blow, draw, labelSemitones, labelSuffix };
}

/** The layout of this id. @throws ReedtraceError E_TUNING that lists the ids. */
export function layoutById(id: string): Layout {
  const layout = LAYOUTS.find((candidate) => candidate.id === id.trim().toLowerCase());
  if (layout) return layout;
  throw new ReedtraceError(
    'E_TUNING',
    `no tuning is called '${id}'`,
    `use one of ${LAYOUTS.map((l) => l.id).join(', ')}, or a JSON file with twenty notes`,
  );
}

/** Lowest and highest note of a custom tuning: E1 to C8, wider than any diatonic harp on sale. */
export const LOWEST_MIDI = 28;
export const HIGHEST_MIDI = 108;

/**
 * Reads a custom tuning: `{ "name": "my tuning", "blow": ["C4", … ten], "draw": ["D4", … ten] }`, notes with octave
 * (C4 = middle C, flats `b`, sharps `#`). The two reeds of a hole must differ.
 * @param json  the parsed JSON value
 * @throws ReedtraceError E_TUNING that names the hole
 */
export function parseCustomLayout(json: unknown): Layout {
  if (typeof json !== 'object' || json === null || Array.isArray(json)) {
    throw tuningError('the tuning is not a JSON object');
  }
  const { name, blow: blowNames, draw: drawNames } = json as Record<string, unknown>;
  const blow = parseRow('blow', blowNames);
  const draw = parseRow('draw', drawNames);
  for (let i = 0; i < HOLES; i++) {
    if (blow[i] === draw[i]) {
      throw tuningError(`hole ${i + 1} gives the same note ${(blowNames as string[])[i]} for blow and draw`);
    }
  }
  const tonicMidi = blow[0];
  return {
    id: 'custom',
    name: ownName(name),
    blow: blow.map((midi) => midi - tonicMidi),
    draw: draw.map((midi) => midi - tonicMidi),
    labelSemitones: 0,
    labelSuffix: '',
    writtenTonicMidi: tonicMidi,
  };
}

/** The name of a custom tuning or temperament. It is printed, so control characters are removed. */
export function ownName(name: unknown): string {
  return (typeof name === 'string' && plainText(name).trim()) || 'custom';
}

function parseRow(breath: string, row: unknown): number[] {
  if (!Array.isArray(row)) throw tuningError(`the tuning has no list '${breath}'`);
  if (row.length !== HOLES) throw tuningError(`'${breath}' has ${row.length} notes instead of ${HOLES}`);
  return row.map((name, i) => {
    const midi = typeof name === 'string' ? Note.midi(name.trim()) : null;
    if (midi === null || midi === undefined) {
      throw tuningError(
        `hole ${i + 1} ${breath}: ${JSON.stringify(name)} is not a note with octave such as "C4"`,
      );
    }
    if (midi < LOWEST_MIDI || midi > HIGHEST_MIDI) {
      throw tuningError(`hole ${i + 1} ${breath}: ${name} is outside E1 to C8`);
    }
    return midi;
  });
}

function tuningError(message: string): ReedtraceError {
  return new ReedtraceError(
    'E_TUNING',
    message,
    'write {"name": "…", "blow": [ten notes], "draw": [ten notes]}, notes like "C4", "F#5", "Bb4"',
  );
}
