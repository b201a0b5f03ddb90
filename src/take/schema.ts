import { z } from 'zod';
import { ReedtraceError } from '../errors.ts';
import { HIGHEST_MIDI, HOLES, LOWEST_MIDI } from '../harp/layouts.ts';
import type { CustomHarp } from '../harp/playable.ts';
import { MAX_TABLE_CENTS } from '../harp/temperaments.ts';
import { TICKS_PER_BEAT } from '../music/rhythm/metre.ts';
import type { Note } from '../tab/note.ts';
import { TAKE_VERSION } from './format.ts';

export { formatTake } from './format.ts';

const finite = z.number();
const seconds = z.number().min(0);
const probability = z.number().min(0).max(1);
const count = z.number().int().min(0);

/** A name that is printed as it is, so it must not steer a terminal. */
const NO_CONTROLS = /^\P{Cc}*$/u;
const HOLDS_CONTROLS = 'holds control characters';
const printable = z.string().min(1).regex(NO_CONTROLS, HOLDS_CONTROLS);

/** As many partials as the ear measures of each note. */
const PARTIALS = 10;

const tabFields = {
  hole: z.number().int().min(1).max(10),
  breath: z.enum(['blow', 'draw']),
  bend: z.number().int().min(0).max(3),
  over: z.boolean(),
};

// Loose objects: what a later version or another program added survives being read and written again.
const noteSchema = z.looseObject({
  id: z.string().min(1),
  onsetSec: seconds,
  offsetSec: seconds,
  f0Hz: z.number().positive(),
  midi: finite,
  ...tabFields,
  cents: finite,
  confidence: probability,
  alternatives: z.array(z.looseObject({ ...tabFields, confidence: probability })),
  start: z.enum(['silence', 'breath', 'tongue', 'slur', 'glide', 'jump']),
  intonation: z
    .looseObject({
      steadinessCents: z.number().min(0),
      driftCentsPerSec: finite,
      scoopCents: finite,
      scoopSec: seconds,
      overshootCents: finite.optional(),
      releaseCents: finite.optional(),
      vibratoHz: z.number().positive().optional(),
      vibratoCents: z.number().min(0).optional(),
      depthCents: finite.optional(),
    })
    .nullable(),
  leak: z
    .looseObject({
      hole: tabFields.hole,
      levelDb: finite,
      share: probability.optional(),
      kind: z.enum(['leak', 'chord', 'split']).optional(),
    })
    .nullable(),
  levelDb: finite,
  harmonicityDb: finite,
  tone: z
    .looseObject({
      attackSec: seconds.nullable(),
      levelSpreadDb: z.number().min(0),
      brightness: z.number().min(0).nullable(),
    })
    .optional(),
  partialsDb: z.array(finite).length(PARTIALS).optional(),
  flags: z.array(z.string()),
}) satisfies z.ZodType<Note>;

const metreSchema = z.looseObject({
  count: z.number().int().min(1).max(64),
  unit: z.union([z.literal(1), z.literal(2), z.literal(4), z.literal(8), z.literal(16)]),
});

/** A beat is a quarter note; places and lengths are in ticks, twelve to the beat. */
const beatsSchema = z.looseObject({
  ticksPerBeat: z.literal(TICKS_PER_BEAT),
  tempoBpm: z.number().positive(),
  /** Null in free time: no bars. */
  metre: metreSchema.nullable(),
  pickupTicks: count,
  swing: z.boolean(),
  confidence: probability,
  /** When each beat comes, from tick 0; empty in free time. */
  gridSec: z.array(finite),
  /** By note; notes that were added later may be missing, and ids may be left of notes that were deleted. */
  notes: z.array(z.looseObject({ id: z.string(), atTicks: count, lengthTicks: z.number().int().min(1) })),
  /** What the player said; kept when the grid is found anew. */
  given: z
    .looseObject({
      tempoBpm: z.number().positive().optional(),
      metre: metreSchema.optional(),
      free: z.boolean().optional(),
    })
    .optional(),
});

const phraseSchema = z.looseObject({
  firstNote: count,
  lastNote: count,
  /** `A`, `B`, …; a repeat with small differences has a stroke, `A'`. */
  label: printable.optional(),
  /** The earlier phrase that this one repeats, and where it differs, as positions in `phrases` and `notes`. */
  like: z
    .looseObject({
      phrase: count,
      differences: z.array(
        z.looseObject({
          kind: z.enum(['changed', 'added', 'missing']),
          note: count.nullable(),
          other: count.nullable(),
        }),
      ),
    })
    .nullable()
    .optional(),
  /** How even the level of its notes is, in dB, and how much louder it is at its end; null for few notes. */
  level: z
    .looseObject({ spreadDb: z.number().min(0), changeDb: finite })
    .nullable()
    .optional(),
});

/** One syllable of the words, in reading order within its verse. */
const syllableSchema = z.looseObject({
  verse: z.number().int().min(1),
  text: printable,
  syllabic: z.enum(['single', 'begin', 'middle', 'end']),
  /** Null when there was no note left for it. */
  noteId: z.string().nullable(),
  /** Notes more that it is held over. */
  holds: count,
});

/** Widest interval between two reeds of a tuning, in semitones. */
const WIDEST = HIGHEST_MIDI - LOWEST_MIDI;
const reeds = z.array(z.number().int().min(-WIDEST).max(WIDEST)).length(HOLES);
const reedCents = z.array(z.number().min(-MAX_TABLE_CENTS).max(MAX_TABLE_CENTS)).length(HOLES);
const ownFields = { id: printable, name: printable };

/** A tuning or temperament of the player's own, which no later program could know from its id. */
const customSchema: z.ZodType<CustomHarp> = z.looseObject({
  layout: z
    .looseObject({
      ...ownFields,
      /** Semitones above hole-1 blow, hole 1 first. */
      blow: reeds.refine(([first]) => first === 0, 'does not begin with 0'),
      draw: reeds,
      labelSemitones: z.number().int(),
      labelSuffix: z.string().regex(NO_CONTROLS, HOLDS_CONTROLS),
      writtenTonicMidi: z.number().int().optional(),
    })
    .refine(({ blow, draw }) => blow.every((reed, i) => reed !== draw[i]), 'has a hole with one note')
    .optional(),
  temperament: z
    .discriminatedUnion('kind', [
      z.looseObject({ ...ownFields, kind: z.literal('reeds'), blow: reedCents, draw: reedCents }),
      z.looseObject({ ...ownFields, kind: z.literal('intervals'), cents: z.array(finite).length(12) }),
    ])
    .optional(),
});

const harpFields = { key: printable, tuning: printable, confidence: probability };

const takeSchema = z.looseObject({
  format: z.literal('reedtrace-take'),
  version: z.literal(TAKE_VERSION),
  source: z.looseObject({
    /** Name of the recording, without its folder. */
    file: z.string(),
    /** Of the file's bytes, in lower-case hexadecimal. */
    sha256: z.string(),
    durationSec: seconds,
    /** Of the file, in Hz; the analysis may have used another. */
    sampleRate: z.number().positive(),
    channels: z.number().int().min(1),
  }),
  harp: z.looseObject({
    ...harpFields,
    temperament: printable,
    /** Reference pitch in Hz. */
    a4Hz: z.number().min(200).max(900),
    custom: customSchema.optional(),
    /** Runners-up when the harp was found from the recording, best first. */
    alternatives: z.array(z.looseObject(harpFields)),
  }),
  notes: z.array(noteSchema),
  /** Without `notes` when they were never looked for. */
  beats: z.union([beatsSchema, z.looseObject({ notes: z.undefined().optional() })]),
  /** First and last note of each phrase, as positions in `notes`, both inclusive. */
  phrases: z.array(phraseSchema),
  words: z.array(syllableSchema),
  /** What the player changed, oldest first; only ever appended to. */
  edits: z.array(z.looseObject({})),
});

/** A take: what was recorded, on which harp, and what was played (README, "The take file"). */
export type Take = z.infer<typeof takeSchema>;
/** The recording that a take was made from. */
export type TakeSource = Take['source'];
/** The harp of a take, and how sure it is. */
export type TakeHarp = Take['harp'];
/** The beat grid of a take, once it was looked for. */
export type TakeBeats = z.infer<typeof beatsSchema>;
/** One syllable of a take's words. */
export type TakeSyllable = z.infer<typeof syllableSchema>;

/** What can't be said in a field's own rule: order in time, names used once, phrases inside the notes. */
export function findDisorder(take: Take): string | null {
  const ids = new Set<string>();
  for (const [index, note] of take.notes.entries()) {
    if (ids.has(note.id)) return `notes[${index}].id: '${note.id}' is used twice`;
    ids.add(note.id);
    if (note.offsetSec < note.onsetSec) return `notes[${index}]: ends before it begins`;
    if (index > 0 && note.onsetSec < take.notes[index - 1].onsetSec) {
      return `notes[${index}]: begins before the note ahead of it`;
    }
  }
  for (const [index, phrase] of take.phrases.entries()) {
    if (phrase.lastNote < phrase.firstNote || phrase.lastNote >= take.notes.length) {
      return `phrases[${index}]: notes ${phrase.firstNote} to ${phrase.lastNote} of ${take.notes.length}`;
    }
  }
  return null;
}

const partsSchema = takeSchema
  .pick({ notes: true, harp: true, beats: true, phrases: true, words: true })
  .partial();

/** What is wrong with parts of a take, such as those that an edit changed, notes among others; null when nothing is. */
export function findFaultOfParts(parts: z.infer<typeof partsSchema>): string | null {
  const parsed = partsSchema.safeParse(parts);
  return parsed.success ? null : describeIssue(parsed.error.issues[0]);
}

function describeIssue(issue: z.core.$ZodIssue): string {
  const path = issue.path
    .map((part) => (typeof part === 'number' ? `[${part}]` : `.${String(part)}`))
    .join('')
    .replace(/^\./, '');
  return path === '' ? issue.message : `${path}: ${issue.message}`;
}

/**
 * Checks that a value is a take.
 * @param name  what to call it in an error, usually the file's name
 * @throws ReedtraceError E_TAKE_INVALID, or E_TAKE_NEWER for a version that this program doesn't know
 */
export function checkTake(value: unknown, name: string): Take {
  const head = z.looseObject({ format: z.literal('reedtrace-take'), version: count.min(1) }).safeParse(value);
  if (!head.success) {
    throw new ReedtraceError(
      'E_TAKE_INVALID',
      `'${name}' is not a take of reedtrace (${describeIssue(head.error.issues[0])})`,
      'give a .take.json file that `reedtrace transcribe` wrote',
    );
  }
  if (head.data.version > TAKE_VERSION) {
    throw new ReedtraceError(
      'E_TAKE_NEWER',
      `'${name}' is a take of version ${head.data.version}, and this reedtrace knows up to ${TAKE_VERSION}`,
      'update reedtrace, or transcribe the recording again',
    );
  }
  const parsed = takeSchema.safeParse(value);
  const fault = parsed.success ? findDisorder(parsed.data) : describeIssue(parsed.error.issues[0]);
  if (!parsed.success || fault !== null) {
    throw new ReedtraceError(
      'E_TAKE_INVALID',
      `'${name}' is a damaged take (${fault})`,
      'restore it from a copy, or transcribe the recording again',
    );
  }
  return parsed.data;
}

/**
 * Reads a take from its JSON text.
 * @throws ReedtraceError E_TAKE_INVALID, E_TAKE_NEWER
 */
export function parseTake(text: string, name: string): Take {
  let value: unknown;
  try {
    value = JSON.parse(text.replace(/^\uFEFF/, ''));
  } catch (cause) {
    throw new ReedtraceError(
      'E_TAKE_INVALID',
      `'${name}' is not JSON (${text.trim() === '' ? 'it is empty' : (cause as Error).message})`,
      'give a .take.json file that `reedtrace transcribe` wrote',
      { cause },
    );
  }
  return checkTake(value, name);
}
