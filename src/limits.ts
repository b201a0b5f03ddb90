import { ReedtraceError } from './errors.ts';

/** How large something may be, and what it is called in messages. */
export interface Limit {
  readonly most: number;
  /** After the number; empty where it only counts. */
  readonly unit: string;
  /** What is limited, as in the table of src/audio/README.md. */
  readonly of: string;
}

const MIB = 1024 * 1024;

/** From here on recordings are handled so as to take less memory, which takes more time. */
export const LONG_SEC = 900;

/**
 * How much of anything a file may hold, so that none takes all memory or all time. Each limit is well beyond what
 * people record and write: a day of recording and 100,000 notes work. src/audio/README.md lists them; a test compares.
 */
export const LIMITS = {
  recordingSec: { most: 86_400, unit: 's', of: 'length of a recording: a day' },
  channels: { most: 64, unit: 'channels', of: 'channels of a recording' },
  sampleRateHz: { most: 768_000, unit: 'Hz', of: 'sample rate of a recording; 4,000 Hz is the least' },
  containerHeadBytes: {
    most: 64 * MIB,
    unit: 'bytes',
    of: 'what stands before the sound: index, tags, pictures',
  },
  containerDepth: { most: 16, unit: 'levels', of: 'boxes inside boxes of an MP4 file' },
  containerEntries: {
    most: 5_000_000,
    unit: 'entries',
    of: 'entries of a table in an MP4 file: a day of AAC has 4 million',
  },
  decodeSec: { most: 30, unit: 's', of: 'time to decode 64 kB of a recording; a tenth of a second is usual' },
  decodeBytes: { most: 1024 * MIB, unit: 'bytes', of: 'memory to decode 64 kB of a recording' },
  takeBytes: { most: 400 * MIB, unit: 'bytes', of: 'size of a take file' },
  jsonDepth: { most: 64, unit: 'levels', of: 'lists and objects inside each other in a JSON file' },
  notes: { most: 500_000, unit: 'notes', of: 'notes of a take or a tune' },
  phrases: { most: 500_000, unit: 'phrases', of: 'phrases of a take' },
  verses: { most: 100, unit: 'verses', of: 'verses of words' },
  syllables: { most: 1_000_000, unit: 'syllables', of: 'syllables of a take, all verses together' },
  edits: { most: 1_000_000, unit: 'edits', of: 'changes that a take remembers' },
  textLength: { most: 1_000, unit: 'characters', of: 'a name, a title or a syllable' },
  listLength: { most: 1_000, unit: 'entries', of: 'a list inside a note, phrase or harp' },
  beats: { most: 1_000_000, unit: 'quarter notes', of: 'length of a tune: a day at 694 a minute' },
  beatsPerSec: { most: 20, unit: 'quarter notes a second', of: 'beats of a take against its length' },
  tuneBytes: { most: 64 * MIB, unit: 'bytes', of: 'size of a tune, packed or unpacked' },
  archiveMembers: { most: 1_000, unit: 'members', of: 'files in a zipped score (.mxl)' },
  xmlDepth: { most: 100, unit: 'levels', of: 'elements inside each other in a MusicXML file' },
  xmlEntities: { most: 100, unit: 'entities', of: 'entities that a MusicXML file declares' },
} as const satisfies Record<string, Limit>;

export type LimitName = keyof typeof LIMITS;

/** `500,000 notes`: a number as people write it, with what it counts. */
function counted(value: number, unit: string): string {
  const shown = Number.isInteger(value) ? value : Number(value.toPrecision(4));
  return `${shown.toLocaleString('en')}${unit === '' ? '' : ` ${unit}`}`;
}

/** `700,000 notes; the limit is 500,000`: the value and the limit that it exceeds. */
export function overLimit(name: LimitName, value: number): string {
  const { most, unit } = LIMITS[name];
  return `${counted(value, unit)}; the limit is ${counted(most, '')}`;
}

/**
 * The error for a file that is sound but larger than this program handles.
 * @param name  what to call the file
 * @param what  what it has too much of, as a verb: `has`, `lasts`
 */
export function tooLarge(
  name: string,
  what: string,
  limit: LimitName,
  value: number,
  fix: string,
): ReedtraceError {
  return new ReedtraceError('E_TOO_LARGE', `'${name}' ${what} ${overLimit(limit, value)}`, fix);
}
