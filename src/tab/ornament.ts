/** True for an ornament that the player named and nobody measured: its numbers are the usual ones. */
interface Said {
  readonly unmeasured?: boolean | undefined;
}

/** Two adjacent holes in quick alternation: one event with both, as long as the note. */
interface Shake extends Said {
  readonly kind: 'shake';
  /** Notes per second, both holes counted. */
  readonly notesPerSec: number;
}

/** The pitch slides into the note and stays. */
export interface Scoop extends Said {
  readonly kind: 'scoop';
  /** Where it began relative to the held pitch, in cents; negative from below. */
  readonly fromCents: number;
  /** From the onset until the held pitch was reached. */
  readonly durationSec: number;
}

/** The pitch slides off the note at its end. */
export interface Fall extends Said {
  readonly kind: 'fall';
  /** Where it went relative to the held pitch, in cents; negative downwards. */
  readonly toCents: number;
  /** From leaving the held pitch until the end. */
  readonly durationSec: number;
}

/** The pitch swings around its middle. */
export interface Vibrato extends Said {
  readonly kind: 'vibrato';
  readonly rateHz: number;
  /** From the middle to the peak, in cents. */
  readonly depthCents: number;
}

/** The level swings; the tone changes no more than loudness alone would change it. */
export interface Tremolo extends Said {
  readonly kind: 'tremolo';
  readonly rateHz: number;
  /** From trough to peak, in amplitude dB. */
  readonly depthDb: number;
}

/** Cupped hands open and close: the sound becomes louder and brighter, then softer and duller. */
export interface Hand extends Said {
  readonly kind: 'hand';
  /** How often they opened or closed. */
  readonly changes: number;
  /** Openings per second; missing where they were not regular. */
  readonly rateHz?: number | undefined;
  /** From closed to open, in amplitude dB. */
  readonly depthDb: number;
  /** How much more the upper partials grew than the lowest, in dB. */
  readonly brightnessDb: number;
}

/** What a player did to a note, reported only where a player would call it that. */
export type NoteOrnament = Shake | Scoop | Fall | Vibrato | Tremolo | Hand;
export type OrnamentKind = NoteOrnament['kind'];

/**
 * The ornaments of a note: `ornament` is the most prominent one; `ornaments` has all of them, where there is more than
 * one.
 */
export interface Ornamented {
  readonly ornament?: NoteOrnament | undefined;
  readonly ornaments?: readonly NoteOrnament[] | undefined;
}

/** How strong an ornament is, relative to one that just deserves its name, so that different kinds can be compared. */
function strength(ornament: NoteOrnament): number {
  switch (ornament.kind) {
    case 'shake':
      return Number.POSITIVE_INFINITY;
    case 'scoop':
      return -ornament.fromCents / 35;
    case 'fall':
      return -ornament.toCents / 45;
    case 'vibrato':
      return ornament.depthCents / 11;
    case 'tremolo':
      return ornament.depthDb / 3;
    case 'hand':
      return ornament.brightnessDb / 6;
  }
}

/** All ornaments of a note as a take keeps them. @param all from its beginning to its end */
export function asOrnamented(all: readonly NoteOrnament[]): Ornamented {
  if (all.length === 0) return {};
  const ornament = all.reduce((most, one) => (strength(one) > strength(most) ? one : most));
  return all.length === 1 ? { ornament } : { ornament, ornaments: all };
}

/** A note with other ornaments in place of its own. @param all from its beginning to its end */
export function withOrnaments<T extends Ornamented>(note: T, all: readonly NoteOrnament[]): T {
  const { ornament: _, ornaments: __, ...plain } = note;
  return { ...plain, ...asOrnamented(all) } as T;
}

/** All ornaments of a note, from its beginning to its end. */
export function ornamentsOf({ ornament, ornaments }: Ornamented): readonly NoteOrnament[] {
  return ornaments ?? (ornament === undefined ? [] : [ornament]);
}

/** An ornament as players usually make it, for one that nobody measured (common practice, no source). */
export function usualOrnament(kind: Exclude<OrnamentKind, 'shake'>): NoteOrnament {
  switch (kind) {
    case 'scoop':
      return { kind, fromCents: -60, durationSec: 0.12, unmeasured: true };
    case 'fall':
      return { kind, toCents: -80, durationSec: 0.15, unmeasured: true };
    case 'vibrato':
      return { kind, rateHz: 5, depthCents: 20, unmeasured: true };
    case 'tremolo':
      return { kind, rateHz: 5, depthDb: 4, unmeasured: true };
    case 'hand':
      return { kind, changes: 2, depthDb: 6, brightnessDb: 8, unmeasured: true };
  }
}

/** Notes per second of a shake that nobody measured (common practice, no source). */
const USUAL_SHAKE_NOTES_PER_SEC = 11;

/** Notes per second of a shake, both holes counted. */
export function shakeRate(note: Ornamented): number {
  const shake = ornamentsOf(note).find((ornament) => ornament.kind === 'shake');
  return shake?.notesPerSec ?? USUAL_SHAKE_NOTES_PER_SEC;
}

/** From this rate on hands make a hand tremolo, below it a wah (common practice, no source). */
const HAND_TREMOLO_HZ = 3;

/** Ornaments that tab has no sign for, in the player's words. */
export function ornamentsInWords(note: Ornamented): string[] {
  return ornamentsOf(note).flatMap((ornament) => {
    if (ornament.kind === 'tremolo') return ['tremolo'];
    if (ornament.kind !== 'hand') return [];
    return [(ornament.rateHz ?? 0) >= HAND_TREMOLO_HZ ? 'hand tremolo' : 'wah'];
  });
}
