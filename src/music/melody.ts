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
  /** All pitches that sound at once, ascending, where there are several; `midi` is one of them. */
  readonly chord?: readonly number[];
}

/** One voice of a tune as read from a music file, tab or take. */
export interface Melody {
  /** In time order, one at a time; at least one. */
  readonly notes: readonly MelodyNote[];
  readonly title: string | null;
  /** Quarter notes per minute; null when the file does not say. */
  readonly beatsPerMinute: number | null;
  /** As in 6/8: six of the eighth; null when the file does not say. */
  readonly metre: { readonly count: number; readonly unit: number } | null;
  /** Length of the pick-up before the first full bar; missing when there is none or the file does not say. */
  readonly pickupBeats?: number;
  /** Pitch class of the keynote that the file names, 0 = C … 11 = B; null when it names none. */
  readonly tonic: number | null;
  /** Positions in `notes` at which a line or phrase begins; the first is 0. */
  readonly lineStarts: readonly number[];
  /** What was in the file but is not in the melody, in words for the user. */
  readonly remarks: readonly string[];
}
