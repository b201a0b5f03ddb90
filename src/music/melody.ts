/** One note of a melody, in beats; a beat is a quarter note. */
export interface MelodyNote {
  /** Integer MIDI number as it sounds. */
  readonly midi: number;
  /** From the start of the tune, ≥ 0. */
  readonly onsetBeats: number;
  /** > 0; ends no later than the next note begins. */
  readonly durationBeats: number;
  /** Syllable sung to the note. */
  readonly word?: string;
  /** If several pitches sound at once, all of them, ascending; `midi` is one of them. */
  readonly chord?: readonly number[];
}

/** One voice of a tune as read from a music file, tab or take. */
export interface Melody {
  /** In time order, never overlapping; at least one. */
  readonly notes: readonly MelodyNote[];
  readonly title: string | null;
  /** Quarter notes a minute; null if the file does not say. */
  readonly beatsPerMinute: number | null;
  /** 6/8 is a count of 6 and a unit of 8; null if the file does not say. */
  readonly metre: { readonly count: number; readonly unit: number } | null;
  /** Length of the pick-up before the first full bar; missing if there is none or the file does not say. */
  readonly pickupBeats?: number;
  /** Pitch class of the keynote given in the file, 0 = C … 11 = B; null if it gives none. */
  readonly tonic: number | null;
  /** Positions in `notes` where a line or phrase begins; the first is 0. */
  readonly lineStarts: readonly number[];
  /** What is in the file but not in the melody, in sentences for the user. */
  readonly remarks: readonly string[];
}
