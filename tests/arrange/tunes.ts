import { type Tune, tuneFromMelody } from '../../src/arrange/tune.ts';
import type { Melody } from '../../src/music/melody.ts';

/** A tune in quarters at 60 a minute, so that a beat is a second; lengths default to half a second. */
export function tuneOf(
  midis: readonly number[],
  durations: readonly number[] = [],
  tonic = midis[0] % 12,
): Tune {
  let onsetBeats = 0;
  const notes = midis.map((midi, i) => {
    const durationBeats = durations[i] ?? 0.5;
    const note = { midi, onsetBeats, durationBeats };
    onsetBeats += durationBeats;
    return note;
  });
  const melody: Melody = {
    notes,
    title: null,
    beatsPerMinute: 60,
    metre: null,
    tonic,
    lineStarts: [0],
    remarks: [],
  };
  return tuneFromMelody(melody);
}
