import { z } from 'zod';
import { LIMITS } from '../limits.ts';

/**
 * No hand, throat or reed goes beyond these: the widest bend is three semitones, the fastest shake some 20 notes per
 * second.
 */
const MOST_CENTS = 500;
const MOST_DB = 60;
const MOST_PER_SEC = 50;
const MOST_CHANGES = 10_000;

const perSec = z.number().positive().max(MOST_PER_SEC);
const slideCents = z.number().min(-MOST_CENTS).max(MOST_CENTS);
const durationSec = z.number().min(0).max(LIMITS.recordingSec.most);
/** True for an ornament that the player named and nobody measured. */
const unmeasured = z.boolean().optional();
const depthDb = z.number().positive().max(MOST_DB);

/** What a player did to a note (see `NoteOrnament`). */
export const ornamentSchema = z.discriminatedUnion('kind', [
  z.looseObject({ kind: z.literal('shake'), notesPerSec: perSec, unmeasured }),
  z.looseObject({ kind: z.literal('scoop'), fromCents: slideCents, durationSec, unmeasured }),
  z.looseObject({ kind: z.literal('fall'), toCents: slideCents, durationSec, unmeasured }),
  z.looseObject({
    kind: z.literal('vibrato'),
    rateHz: perSec,
    depthCents: z.number().positive().max(MOST_CENTS),
    unmeasured,
  }),
  z.looseObject({ kind: z.literal('tremolo'), rateHz: perSec, depthDb, unmeasured }),
  z.looseObject({
    kind: z.literal('hand'),
    changes: z.number().int().min(1).max(MOST_CHANGES),
    rateHz: perSec.optional(),
    depthDb,
    brightnessDb: z.number().min(-MOST_DB).max(MOST_DB),
    unmeasured,
  }),
]);
