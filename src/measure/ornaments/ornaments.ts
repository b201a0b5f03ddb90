import { CONTOUR_STEP_SEC, type SoundEvent } from '../../analysis/notes/events.ts';
import type { NoteOrnament, Tremolo } from '../../tab/ornament.ts';
import type { HeldPitch } from '../held.ts';
import { agreement, BAND_STEP_SEC, type BandLevels, LEAST_AGREEMENT } from './bands.ts';
import { findHand } from './hands.ts';
import { findFall, findScoop } from './slides.ts';
import { SwingFinder } from './swing.ts';

/** Shorter notes have no room for hands, tremolo or vibrato. */
export const LEAST_WAVES_SEC = 0.42;

/**
 * Vibrato: 4 to 8 Hz (Desain, Honing, Aarts and Timmers, 1999), a little more on each side for those who hurry or drag;
 * from 12 cents on, what strings use (0.2 semitones from peak to peak, same source), as less is not called so.
 */
const VIBRATO = new SwingFinder(CONTOUR_STEP_SEC, {
  slowestHz: 3.25,
  fastestHz: 8.5,
  leastDepth: 11,
  leastShare: 0.6,
  fewestWaves: 2.2,
});
/** Tremolo from 3 dB from trough to peak on: three times what is just heard at such rates (Zwicker and Fastl, Psychoacoustics, ch. 10). */
const TREMOLO = new SwingFinder(BAND_STEP_SEC, {
  slowestHz: 3,
  fastestHz: 8.5,
  leastDepth: 1.5,
  leastShare: 0.6,
  fewestWaves: 2.2,
});
/** Of the ends of a note, where it swells and dies away, nothing is told. Set by hand, no source. */
const RELEASE_SEC = 0.05;
const ATTACK_SEC = 0.08;
/** Rates nearer than this share are one. */
const SAME_RATE = 0.12;

/**
 * What the player did to a note, from its pitch every 10 ms and the level of its partials every 20 ms; in order of time,
 * empty as a rule. Notes of several holes are not judged: their reeds beat.
 * @param next the event after it, if it goes on from this one
 * @param bands null when they were not measured
 * @param contourMidi its pitch as far as it was followed, beyond its end, too (see `withTail`)
 */
export function findOrnaments(
  event: SoundEvent,
  next: SoundEvent | undefined,
  pitch: HeldPitch | null,
  bands: BandLevels | null,
  contourMidi: Float32Array = event.contourMidi,
): NoteOrnament[] {
  if (event.set !== undefined || pitch === null) return [];
  const cents = Array.from(contourMidi, (midi) => 100 * (midi - pitch.midi));
  const goesOn = next?.start === 'glide' && next.onsetSec - event.offsetSec < CONTOUR_STEP_SEC;
  const scoop = event.start === 'glide' ? null : findScoop(cents);
  const fall = goesOn ? null : findFall(cents);
  const lengthSec = event.offsetSec - event.onsetSec;
  const fromSec = Math.max(ATTACK_SEC, scoop?.durationSec ?? 0);
  const fallsSec = fall === null ? lengthSec : contourMidi.length * CONTOUR_STEP_SEC - fall.durationSec;
  const toSec = Math.min(lengthSec - RELEASE_SEC, fallsSec - RELEASE_SEC / 2);
  const swing = VIBRATO.find(
    filled(cents.slice(Math.round(fromSec / CONTOUR_STEP_SEC), Math.round(toSec / CONTOUR_STEP_SEC))),
  );
  const hand = bands === null ? null : findHand(bands, toSec);
  const tremolo = bands === null || hand !== null ? null : findTremolo(bands, fromSec, toSec);
  // A pitch that swings takes the level with it, in a room above all.
  const isOwn = (rateHz: number | undefined): boolean =>
    swing === null || (rateHz !== undefined && Math.abs(rateHz - swing.hz) > SAME_RATE * swing.hz);
  return [
    ...(scoop === null ? [] : [scoop]),
    ...(swing === null ? [] : [{ kind: 'vibrato' as const, rateHz: swing.hz, depthCents: swing.depth }]),
    ...(tremolo !== null && isOwn(tremolo.rateHz) ? [tremolo] : []),
    ...(hand !== null && isOwn(hand.rateHz) ? [hand] : []),
    ...(fall === null ? [] : [fall]),
  ];
}

function findTremolo(bands: BandLevels, fromSec: number, toSec: number): Tremolo | null {
  const from = Math.round(fromSec / BAND_STEP_SEC);
  const wave = TREMOLO.find(bands.all.slice(from, Math.round(toSec / BAND_STEP_SEC)));
  if (wave === null || agreement(bands, from + wave.from, from + wave.to) < LEAST_AGREEMENT) return null;
  return { kind: 'tremolo', rateHz: wave.hz, depthDb: 2 * wave.depth };
}

/** Values with those that are unknown taken from their neighbours. */
function filled(values: readonly number[]): number[] {
  const known = values.findIndex((value) => !Number.isNaN(value));
  if (known < 0) return [];
  let last = values[known];
  return values.map((value) => {
    if (!Number.isNaN(value)) last = value;
    return last;
  });
}
