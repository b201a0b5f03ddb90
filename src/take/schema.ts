import { z } from 'zod';
import { HIGHEST_MIDI, HOLES, LOWEST_MIDI } from '../harp/layouts.ts';
import { MAX_TABLE_CENTS } from '../harp/temperaments.ts';
import type { CustomHarp } from '../harp/types.ts';
import { LIMITS } from '../limits.ts';
import { TICKS_PER_BEAT } from '../music/rhythm/metre.ts';
import { plainText } from '../plain-text.ts';
import { LEFT_OUT_REASONS, type Note } from '../tab/note.ts';
import { ornamentSchema } from './ornament-schema.ts';
import { TAKE_VERSION } from './version.ts';

const most = (name: keyof typeof LIMITS): number => LIMITS[name].most;

/** No harmonica, microphone or ear goes beyond these; a take with values beyond them is damaged. */
const LOWEST_PITCH_MIDI = 0;
const HIGHEST_PITCH_MIDI = 135;
const HIGHEST_F0_HZ = 20_000;
const WIDEST_CENTS = 13_500;
const WIDEST_DB = 1_000;
const HIGHEST_RATE = 1e6;

const seconds = z.number().min(0).max(most('recordingSec'));
/** The grid goes on before the first note and after the last. */
const gridSec = z
  .number()
  .min(-most('recordingSec'))
  .max(2 * most('recordingSec'));
const probability = z.number().min(0).max(1);
const cents = z.number().min(-WIDEST_CENTS).max(WIDEST_CENTS);
const decibels = z.number().min(-WIDEST_DB).max(WIDEST_DB);
/** A measure ≥ 0 without a limit of its own. */
const amount = z.number().min(0).max(HIGHEST_RATE);
const count = z.number().int().min(0);
const notePlace = count.max(most('notes') - 1);
const ticks = count.max(TICKS_PER_BEAT * most('beats'));
const tempoBpm = z.number().positive().max(HIGHEST_RATE);

const NO_CONTROLS = /^\P{Cc}*$/u;
const HOLDS_CONTROLS = 'holds control characters';
const text = z.string().max(most('textLength'));
/** A name that is printed as it is, so it must not hold control characters. */
const printable = text
  .min(1)
  .regex(NO_CONTROLS, HOLDS_CONTROLS)
  // Older programs let marks of writing direction through.
  .overwrite(plainText);
const shortList = <T extends z.ZodType>(item: T) => z.array(item).max(most('listLength'));

/** How many partials are measured for each note. */
const PARTIALS = 10;

const tabFields = {
  hole: z.number().int().min(1).max(10),
  breath: z.enum(['blow', 'draw']),
  bend: z.number().int().min(0).max(3),
  over: z.boolean(),
};

/** Holes of one breath, ascending, two to five. */
const holesSchema = z
  .array(tabFields.hole)
  .min(2)
  .max(5)
  .refine((holes) => holes.every((hole, i) => i === 0 || hole > holes[i - 1]), 'are not in ascending order');

const leftOutReason = z.enum(LEFT_OUT_REASONS);

/** A sound of the recording that was left out. */
const leftOutSchema = z.looseObject({
  onsetSec: seconds,
  offsetSec: seconds,
  f0Hz: z.number().positive().max(HIGHEST_F0_HZ),
  why: leftOutReason,
});

// Loose objects: what a later version or another program added is kept when the take is read and written again.
const noteSchema = z.looseObject({
  id: text.min(1),
  onsetSec: seconds,
  offsetSec: seconds,
  f0Hz: z.number().positive().max(HIGHEST_F0_HZ),
  midi: z.number().min(LOWEST_PITCH_MIDI).max(HIGHEST_PITCH_MIDI),
  ...tabFields,
  cents,
  confidence: probability,
  alternatives: shortList(z.looseObject({ ...tabFields, confidence: probability })),
  start: z.enum(['silence', 'breath', 'tongue', 'slur', 'glide', 'jump']),
  intonation: z
    .looseObject({
      steadinessCents: amount,
      driftCentsPerSec: z.number().min(-HIGHEST_RATE).max(HIGHEST_RATE),
      scoopCents: cents,
      scoopSec: seconds,
      overshootCents: cents.optional(),
      releaseCents: cents.optional(),
      vibratoHz: z.number().positive().max(HIGHEST_F0_HZ).optional(),
      vibratoCents: amount.optional(),
      depthCents: cents.optional(),
    })
    .nullable(),
  leak: z
    .looseObject({
      hole: tabFields.hole,
      levelDb: decibels,
      share: probability.optional(),
      kind: z.enum(['leak', 'chord', 'split']).optional(),
    })
    .nullable(),
  levelDb: decibels,
  harmonicityDb: decibels,
  tone: z
    .looseObject({
      attackSec: seconds.nullable(),
      levelSpreadDb: amount,
      brightness: amount.nullable(),
    })
    .optional(),
  partialsDb: z.array(decibels).length(PARTIALS).optional(),
  flags: shortList(text),
  againSec: seconds.optional(),
  holes: holesSchema.optional(),
  holeBends: z.array(tabFields.bend).min(2).max(5).optional(),
  shake: z.boolean().optional(),
  /** The most prominent one, and all of them where there are several. */
  ornament: ornamentSchema.optional(),
  ornaments: shortList(ornamentSchema).min(2).optional(),
  leftOutAs: leftOutReason.optional(),
}) satisfies z.ZodType<Note>;

const metreSchema = z.looseObject({
  count: z.number().int().min(1).max(64),
  unit: z.union([z.literal(1), z.literal(2), z.literal(4), z.literal(8), z.literal(16)]),
});

/** A beat is a quarter note; places and lengths are in ticks, twelve to the beat. */
const beatsSchema = z.looseObject({
  ticksPerBeat: z.literal(TICKS_PER_BEAT),
  tempoBpm,
  /** Null in free time: no bars. */
  metre: metreSchema.nullable(),
  pickupTicks: ticks,
  swing: z.boolean(),
  confidence: probability,
  /** Time of each beat, from tick 0; empty in free time. */
  gridSec: z.array(gridSec).max(most('beats')),
  /** By note; notes that were added later may be missing, and ids of deleted notes may remain. */
  notes: z.array(z.looseObject({ id: text, atTicks: ticks, lengthTicks: ticks.min(1) })).max(most('notes')),
  /** What the player said; kept when the grid is found again. */
  given: z
    .looseObject({
      tempoBpm: tempoBpm.optional(),
      metre: metreSchema.optional(),
      pickupTicks: count.optional(),
      downbeatSec: seconds.optional(),
      free: z.boolean().optional(),
    })
    .optional(),
});

const phraseSchema = z.looseObject({
  firstNote: notePlace,
  lastNote: notePlace,
  /** `A`, `B`, …; a repeat with small differences has a stroke, `A'`. */
  label: printable.optional(),
  /** The player's name of the section that begins with it: `chorus`. */
  name: printable.optional(),
  /** What the teacher says about it. */
  advice: printable.optional(),
  /** The earlier phrase that this one repeats, and where it differs, as positions in `phrases` and `notes`. */
  like: z
    .looseObject({
      phrase: count,
      differences: z
        .array(
          z.looseObject({
            kind: z.enum(['changed', 'added', 'missing']),
            note: notePlace.nullable(),
            other: notePlace.nullable(),
          }),
        )
        .max(2 * most('notes')),
    })
    .nullable()
    .optional(),
  /** Spread of the level of its notes in dB, and how much louder it is at its end; null for few notes. */
  level: z.looseObject({ spreadDb: amount, changeDb: decibels }).nullable().optional(),
});

/** One syllable of the words, in reading order within its verse. */
const syllableSchema = z.looseObject({
  verse: z.number().int().min(1).max(most('verses')),
  text: printable,
  syllabic: z.enum(['single', 'begin', 'middle', 'end']),
  /** Null when no note was left for it. */
  noteId: text.nullable(),
  /** How many further notes it is held over. */
  holds: notePlace,
  /** Its language (ISO 639-1), if it was given or differs from verse to verse. */
  lang: z
    .string()
    .regex(/^[a-z]{2}$/)
    .optional(),
});

/** Widest interval between two reeds of a tuning, in semitones. */
const WIDEST = HIGHEST_MIDI - LOWEST_MIDI;
const reeds = z.array(z.number().int().min(-WIDEST).max(WIDEST)).length(HOLES);
const reedCents = z.array(z.number().min(-MAX_TABLE_CENTS).max(MAX_TABLE_CENTS)).length(HOLES);
const ownFields = { id: printable, name: printable };

/** A custom tuning or temperament, in full: its id alone would mean nothing elsewhere. */
const customSchema: z.ZodType<CustomHarp> = z.looseObject({
  layout: z
    .looseObject({
      ...ownFields,
      /** Semitones above hole-1 blow, hole 1 first. */
      blow: reeds.refine(([first]) => first === 0, 'does not begin with 0'),
      draw: reeds,
      labelSemitones: z.number().int().min(-WIDEST).max(WIDEST),
      labelSuffix: text.regex(NO_CONTROLS, HOLDS_CONTROLS),
      writtenTonicMidi: z.number().int().min(0).max(127).optional(),
    })
    .refine(({ blow, draw }) => blow.every((reed, i) => reed !== draw[i]), 'has a hole with one note')
    .optional(),
  temperament: z
    .discriminatedUnion('kind', [
      z.looseObject({ ...ownFields, kind: z.literal('reeds'), blow: reedCents, draw: reedCents }),
      z.looseObject({ ...ownFields, kind: z.literal('intervals'), cents: z.array(cents).length(12) }),
    ])
    .optional(),
});

const harpFields = { key: printable, tuning: printable, confidence: probability };

/** The fields of a take; `findDisorder` checks their order and positions. */
export const takeSchema = z.looseObject({
  format: z.literal('reedtrace-take'),
  version: z.literal(TAKE_VERSION),
  source: z.looseObject({
    /** Name of the recording, without its folder. */
    file: text,
    /** SHA-256 of the file's bytes, in lower-case hexadecimal. */
    sha256: text,
    durationSec: seconds,
    /** Sample rate of the file, in Hz; the analysis may have used another. */
    sampleRate: z.number().positive().max(most('sampleRateHz')),
    channels: z.number().int().min(1).max(most('channels')),
    /** The day on which it was recorded, `YYYY-MM-DD`, from the recording's metadata. */
    recordedOn: z
      .string()
      .regex(/^\d{4}-\d\d-\d\d$/)
      .optional(),
  }),
  harp: z.looseObject({
    ...harpFields,
    temperament: printable,
    /** Reference pitch in Hz. */
    a4Hz: z.number().min(200).max(900),
    custom: customSchema.optional(),
    /** Runners-up when the harp was detected, best first. */
    alternatives: shortList(z.looseObject(harpFields)),
  }),
  notes: z.array(noteSchema).max(most('notes')),
  /** What was heard but left out; missing in takes of older programs. */
  leftOut: z.array(leftOutSchema).max(most('notes')).optional(),
  /** Without `notes` if beats were never searched for. */
  beats: z.union([beatsSchema, z.looseObject({ notes: z.undefined().optional() })]),
  /** First and last note of each phrase, as positions in `notes`, both inclusive. */
  phrases: z.array(phraseSchema).max(most('phrases')),
  words: z.array(syllableSchema).max(most('syllables')),
  /** Name of the tune, as the player gave it. */
  title: printable.optional(),
  /** What the teacher says about the whole take. */
  advice: printable.optional(),
  /** What the player changed, oldest first; only ever appended to. */
  edits: z.array(z.looseObject({})).max(most('edits')),
});

/** A take: what was recorded, on which harp, and what was played (README.md beside this file). */
export type Take = z.infer<typeof takeSchema>;
/** The recording that a take was made from. */
export type TakeSource = Take['source'];
/** The harp of a take, and how sure it is. */
export type TakeHarp = Take['harp'];
/** The beat grid of a take, once it was searched for. */
export type TakeBeats = z.infer<typeof beatsSchema>;
/** One syllable of a take's words. */
export type TakeSyllable = z.infer<typeof syllableSchema>;
