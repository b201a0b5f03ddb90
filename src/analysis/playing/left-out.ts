import type { LeftOutReason } from '../../tab/note.ts';
import type { SoundEvent } from '../notes/events.ts';
import type { JoinedEvents } from './fragments.ts';
import { playedProbabilities } from './played.ts';

/** A sound that is not taken for a note. */
export interface LeftOut {
  /** Seconds from the first sample. */
  readonly onsetSec: number;
  readonly offsetSec: number;
  readonly f0Hz: number;
  readonly why: LeftOutReason;
}

/** Sounds that were played, with how likely that is, and the others. */
export interface SortedSounds {
  readonly events: readonly SoundEvent[];
  readonly played: readonly number[];
  readonly leftOut: LeftOut[];
}

/** An event less likely to be played than this is left out. */
const LEAST_PLAYED = 0.3;
/** From here on it may have been played all the same. */
const DOUBTFUL = 0.1;
/** Below this harmonicity in dB there is more noise than tone. */
const NOISE_DB = 0;

/** Parts what was played from what was not. */
export function sortPlayed({ whole: events, doubtful }: JoinedEvents): SortedSounds {
  const probabilities = playedProbabilities(events);
  const isPlayed = (_: unknown, i: number): boolean => probabilities[i] > LEAST_PLAYED;
  return {
    events: events.filter(isPlayed),
    played: probabilities.filter(isPlayed),
    leftOut: [
      ...events.flatMap((event, i) =>
        isPlayed(event, i)
          ? []
          : [leaveOut(event, probabilities[i] > DOUBTFUL ? 'doubtful' : soundOf(event))],
      ),
      ...doubtful.map((event) => leaveOut(event, 'doubtful')),
    ].sort((a, b) => a.onsetSec - b.onsetSec),
  };
}

/** A sound as it is left out. */
function leaveOut({ onsetSec, offsetSec, f0Hz }: SoundEvent, why: LeftOutReason): LeftOut {
  return { onsetSec, offsetSec, f0Hz, why };
}

const soundOf = ({ harmonicityDb }: SoundEvent): LeftOutReason =>
  harmonicityDb < NOISE_DB ? 'noise' : 'talk';
