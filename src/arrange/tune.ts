import { guessTonic } from '../music/keynote.ts';
import type { Melody } from '../music/melody.ts';

/** A note to be arranged. */
export interface TuneNote {
  /** Integer MIDI number. */
  readonly midi: number;
  /** All pitches that sound at once, ascending, where there are several; `midi` is the highest. */
  readonly chord?: readonly number[];
  readonly durationSec: number;
  /** Silence before the note, ≥ 0. */
  readonly restSec: number;
  /** The note's length in whole breath steps, counted so that no time is lost by rounding. */
  readonly breathSteps: number;
  readonly word?: string;
}

/** A tune in seconds, ready to be arranged. */
export interface Tune {
  readonly notes: readonly TuneNote[];
  /** Pitch class of the keynote, 0 = C … 11 = B. */
  readonly tonic: number;
  /** True when the keynote was guessed from the notes. */
  readonly tonicGuessed: boolean;
  /** True when no tempo was known and the usual one was used. */
  readonly tempoAssumed: boolean;
  readonly lineStarts: readonly number[];
}

/** Breath is counted in these steps: fine enough for a fast tune, coarse enough to keep states few. */
export const BREATH_STEP_SEC = 0.25;
/** Tempo of a tune that gives none: walking pace (common practice, no source). */
const USUAL_BEATS_PER_MINUTE = 100;

/** Turns beats into seconds; `tonic` (0 to 11) overrides what the melody says or what is guessed. */
export function tuneFromMelody(melody: Melody, tonic?: number): Tune {
  const secPerBeat = 60 / (melody.beatsPerMinute ?? USUAL_BEATS_PER_MINUTE);
  let soundedUntilSec = 0;
  const notes = melody.notes.map(({ midi, onsetBeats, durationBeats, word, chord }, i): TuneNote => {
    const onsetSec = onsetBeats * secPerBeat;
    const offsetSec = (onsetBeats + durationBeats) * secPerBeat;
    const restSec = i === 0 ? 0 : Math.max(0, onsetSec - soundedUntilSec);
    soundedUntilSec = offsetSec;
    return {
      midi,
      durationSec: offsetSec - onsetSec,
      restSec,
      breathSteps: Math.round(offsetSec / BREATH_STEP_SEC) - Math.round(onsetSec / BREATH_STEP_SEC),
      ...(word === undefined ? {} : { word }),
      ...(chord === undefined ? {} : { chord }),
    };
  });
  const named = tonic ?? melody.tonic;
  return {
    notes,
    tonic: named ?? guessTonic(melody.notes),
    tonicGuessed: named === null,
    tempoAssumed: melody.beatsPerMinute === null,
    lineStarts: melody.lineStarts,
  };
}
