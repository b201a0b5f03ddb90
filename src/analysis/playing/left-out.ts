import { median } from '../../statistics.ts';
import type { LeftOutReason } from '../../tab/note.ts';
import type { SoundEvent } from '../notes/events.ts';
import type { JoinedEvents } from './fragments.ts';
import { playedProbabilities } from './played.ts';

/** A sound that does not count as a note. */
export interface LeftOut {
  /** Seconds from the first sample. */
  readonly onsetSec: number;
  readonly offsetSec: number;
  readonly f0Hz: number;
  readonly why: LeftOutReason;
}

/** Sounds that were played, each with its probability, and the others. */
export interface SortedSounds {
  readonly events: readonly SoundEvent[];
  readonly played: readonly number[];
  readonly leftOut: LeftOut[];
}

/** A sound further than this from every note of a harp is not from that harp, in semitones: no reed bends so far beyond its notes. */
const FARTHEST = 1;

/** An event less likely than this to have been played is left out. */
const LEAST_PLAYED = 0.3;
/** A left-out event at least this likely, whose onset the network hears, may have been played after all. */
const DOUBTFUL = 0.1;
/** Below this harmonicity, in dB, there is more noise than tone. */
const NOISE_DB = 0;
const TONELESS_NATS = -3;
/**
 * A doubtful sound whose onset the network hears (in nats) is a note unless it is softer than the take's notes by this, in
 * dB, as an echo is. Of 74 doubtful sounds (25 in recordings of players; 49 in rendered takes in rooms, on phones, with talk
 * and guitars) 12 have such an onset, and all of those are notes.
 */
const HEARD_ONSET_NATS = 0.2;
const ECHO_DB = 15;
/**
 * A loud sound in doubt whose onset the network hears less may be a note if the network hears it sound and rather hears its onset
 * than not, in nats. Of 46 sounds in doubt, in 38 recordings of players and 285 takes of `--set tune` and `--set hard`,
 * one was a note, and nothing distinguishes it from the others.
 */
const SOUNDS_NATS = 0;
const OPEN_ONSET_NATS = -1;
/** A piece this close to talk or noise belongs to it, in seconds. */
const NEAR_SEC = 0.5;

/** A sound, and how likely it was played. */
interface JudgedSound {
  readonly event: SoundEvent;
  readonly played: number;
  /** Null if it is a note. */
  readonly why: LeftOutReason | null;
}

/**
 * Separates what was played from what was not.
 * @param refused       sounds that the decoder took for silence
 * @param playableMidis  pitches that the harp has; empty while the harp is unknown
 * @param keepAll       keeps as notes all sounds that the harp can make
 */
export function sortPlayed(
  { whole, doubtful }: JoinedEvents,
  refused: readonly SoundEvent[] = [],
  playableMidis: readonly number[] = [],
  keepAll = false,
): SortedSounds {
  const probabilities = playedProbabilities(whole);
  const onHarp = (event: SoundEvent, why: LeftOutReason | null): LeftOutReason | null =>
    playableMidis.length === 0 || isNear(event.midi, playableMidis) ? why : 'not-on-harp';
  const amid = (event: SoundEvent): LeftOutReason => {
    const near = nearestTo(event, whole);
    return (near < 0 ? null : reasonAgainst(whole[near], probabilities[near])) ?? 'doubtful';
  };
  const usualDb = median(
    whole.filter((_, i) => probabilities[i] > LEAST_PLAYED).map(({ levelDb }) => levelDb),
  );
  const inDoubt = (event: SoundEvent): JudgedSound => {
    const against = onHarp(event, amid(event));
    if (against !== 'doubtful') return { event, played: DOUBTFUL, why: against };
    // False where nothing was surely played, too.
    const isLoud = event.levelDb >= usualDb - ECHO_DB;
    if (isLoud && event.onsetNats > HEARD_ONSET_NATS) return { event, played: LEAST_PLAYED, why: null };
    const isOpen = isLoud && event.soundingNats > SOUNDS_NATS && event.onsetNats > OPEN_ONSET_NATS;
    return { event, played: DOUBTFUL, why: isOpen ? 'doubtful' : 'noise' };
  };
  const judged: JudgedSound[] = [
    ...whole.map((event, i) => ({
      event,
      played: probabilities[i],
      why: onHarp(event, reasonAgainst(event, probabilities[i])),
    })),
    ...doubtful.map(inDoubt),
    ...refused.map((event) =>
      isToneless(event) ? { event, played: DOUBTFUL, why: 'noise' as const } : inDoubt(event),
    ),
  ]
    .map((sound) => (keepAll && sound.why !== 'not-on-harp' ? { ...sound, why: null } : sound))
    .sort((a, b) => a.event.onsetSec - b.event.onsetSec);
  const notes = judged.filter(({ why }) => why === null);
  return {
    events: notes.map(({ event }) => event),
    played: notes.map(({ played }) => played),
    leftOut: judged.flatMap(({ event: { onsetSec, offsetSec, f0Hz }, why }) =>
      why === null ? [] : [{ onsetSec, offsetSec, f0Hz, why }],
    ),
  };
}

/** Whether a pitch lies within a semitone of one that the harp has; real-valued MIDI numbers. */
function isNear(midi: number, playableMidis: readonly number[]): boolean {
  return playableMidis.some((playable) => Math.abs(playable - midi) <= FARTHEST);
}

function reasonAgainst(event: SoundEvent, played: number): LeftOutReason | null {
  if (played > LEAST_PLAYED) return null;
  if (played > DOUBTFUL && event.onsetNats > HEARD_ONSET_NATS) return 'doubtful';
  return event.harmonicityDb < NOISE_DB ? 'noise' : 'talk';
}

/** Index of the sound closest in time to an event; -1 if none is close. */
function nearestTo({ onsetSec, offsetSec }: SoundEvent, sounds: readonly SoundEvent[]): number {
  let nearest = -1;
  let leastSec = NEAR_SEC;
  sounds.forEach((sound, i) => {
    const apartSec = Math.max(sound.onsetSec - offsetSec, onsetSec - sound.offsetSec);
    if (apartSec < leastSec) [nearest, leastSec] = [i, apartSec];
  });
  return nearest;
}

/** More noise than tone, or no pitch that the network can hear. */
function isToneless({ harmonicityDb, soundingNats }: SoundEvent): boolean {
  return harmonicityDb < NOISE_DB || soundingNats < TONELESS_NATS;
}
