/** What the player said without the sound telling how much: its measures are those that are usual. */
interface Said {
  readonly unmeasured?: boolean | undefined;
}

/** Two holes next to each other in quick turn: one event with both. Its length is the note's. */
interface Shake extends Said {
  readonly kind: 'shake';
  /** Notes of both holes a second. */
  readonly notesPerSec: number;
}

/** The pitch slides into the note and stays. */
export interface Scoop extends Said {
  readonly kind: 'scoop';
  /** Where it began against the held pitch, in cents; negative from below. */
  readonly fromCents: number;
  /** From the onset until the held pitch was reached. */
  readonly durationSec: number;
}

/** The pitch slides off the note at its end. */
export interface Fall extends Said {
  readonly kind: 'fall';
  /** Where it went against the held pitch, in cents; negative downwards. */
  readonly toCents: number;
  /** From leaving the held pitch until the end. */
  readonly durationSec: number;
}

/** The pitch swings. */
export interface Vibrato extends Said {
  readonly kind: 'vibrato';
  readonly rateHz: number;
  /** From the middle to the peak, in cents. */
  readonly depthCents: number;
}

/** The level swings, and the tone colour no more than any louder note's. */
export interface Tremolo extends Said {
  readonly kind: 'tremolo';
  readonly rateHz: number;
  /** From trough to peak, in amplitude dB. */
  readonly depthDb: number;
}

/** Cupped hands open and close: the sound grows louder and brighter, softer and duller. */
export interface Hand extends Said {
  readonly kind: 'hand';
  /** How often they opened or closed. */
  readonly changes: number;
  /** How often they opened a second; missing where they did not do so evenly. */
  readonly rateHz?: number | undefined;
  /** From closed to open, in amplitude dB. */
  readonly depthDb: number;
  /** How much more the upper partials grew than the lowest, in dB. */
  readonly brightnessDb: number;
}

/** What a player did to a note, told only where a player would call it so. */
export type NoteOrnament = Shake | Scoop | Fall | Vibrato | Tremolo | Hand;
export type OrnamentKind = NoteOrnament['kind'];

/** The ornaments of a note: `ornament` the one that is heard most, `ornaments` all, where there is more than one. */
export interface Ornamented {
  readonly ornament?: NoteOrnament | undefined;
  readonly ornaments?: readonly NoteOrnament[] | undefined;
}

/** How strong each kind is when it is just called so: what ornaments of several kinds are weighed by. */
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

/** Notes a second of a shake that nobody measured (common practice, no source). */
const USUAL_SHAKE_NOTES_PER_SEC = 11;

/** Notes a second of both holes of a shake. */
export function shakeRate(note: Ornamented): number {
  const shake = ornamentsOf(note).find((ornament) => ornament.kind === 'shake');
  return shake?.notesPerSec ?? USUAL_SHAKE_NOTES_PER_SEC;
}

/** Hands that open so often a second are called a hand tremolo, slower ones a wah (common practice, no source). */
const HAND_TREMOLO_HZ = 3;

/** Ornaments that tab has no sign for, in the player's words. */
export function ornamentsInWords(note: Ornamented): string[] {
  return ornamentsOf(note).flatMap((ornament) => {
    if (ornament.kind === 'tremolo') return ['tremolo'];
    if (ornament.kind !== 'hand') return [];
    return [(ornament.rateHz ?? 0) >= HAND_TREMOLO_HZ ? 'hand tremolo' : 'wah'];
  });
}
