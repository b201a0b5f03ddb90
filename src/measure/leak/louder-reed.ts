import type { SoundEvent } from '../../analysis/notes/events.ts';
import type { PlayableNote } from '../../harp/types.ts';
import { hzToMidi, midiToHz } from '../../units.ts';
import { isWeighed, type ReedObservation, type SeenReed } from './reed-observations.ts';
import { soundingShare } from './sounding.ts';

/**
 * An adjacent hole's reed that is louder than the note by this is the note, and what was taken for it is the second reed: the
 * pitch of two reeds is sometimes heard as the lower one. [in labelled takes, none that was found so loud and clear was a
 * second reed]
 */
const LOUDER_DB = 4;
const CLEAR_RISE_DB = 20;
const FEWEST_PARTIALS = 3;

/** A reed that is the real note, since it is louder than what was taken for it. */
export interface LouderReed {
  /** Its pitch, real-valued MIDI (A4 = 440 Hz). */
  readonly midi: number;
  /** Relative to what was taken for the note, in dB. */
  readonly levelDb: number;
}

/** The reed that is louder than a plain note; usually null. */
export function louderReed(observation: ReedObservation, main: PlayableNote): LouderReed | null {
  if (main.bend > 0 || main.over) return null;
  const louder = observation.reeds.find((reed) => isWeighed(reed) && isLouder(reed));
  if (louder === undefined) return null;
  const { note, finding } = louder;
  return { midi: hzToMidi(note.f0Hz) + finding.cents / 100, levelDb: finding.levelDb };
}

function isLouder({ finding, around }: SeenReed): boolean {
  return (
    finding.levelDb >= LOUDER_DB &&
    finding.riseDb >= CLEAR_RISE_DB &&
    finding.visible >= FEWEST_PARTIALS &&
    finding.risen === finding.visible &&
    soundingShare(finding) === 1 &&
    // A sound that was louder before the note is ringing on.
    (around === null || around.beforeDb < 0)
  );
}

/** The same event at the pitch of the louder reed; the same breath bends both. */
export function heardAt(event: SoundEvent, { midi, levelDb }: LouderReed): SoundEvent {
  const shift = midi - event.midi;
  return {
    ...event,
    midi,
    f0Hz: midiToHz(midi),
    expectedMidi: event.expectedMidi + shift,
    contourMidi: event.contourMidi.map((value) => value + shift),
    // Most of what was not harmonic to the other reed was this one.
    harmonicityDb: Math.max(event.harmonicityDb, levelDb),
    partialsDb: new Float32Array(),
  };
}
