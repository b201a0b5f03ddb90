import { CONTOUR_STEP_SEC, type SoundEvent } from '../../analysis/notes/events.ts';
import { logOddsOf } from '../../decode/small-network.ts';
import type { Fall, NoteOrnament, Scoop } from '../../tab/ornament.ts';
import type { HeldPitch } from '../held.ts';
import type { BandLevels } from './bands.ts';
import { type LevelMoves, levelMoves } from './level-moves.ts';
import { LEVEL_NETWORKS } from './level-network.ts';
import { findFall, findScoop } from './slides.ts';
import { type Swing, SwingFinder } from './swing.ts';

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
/** Log odds from which a tremolo or hands are told, in nats. */
const LEAST_NATS = 0;
/** A tremolo goes this far from trough to peak: well over what is just heard at such rates (Zwicker and Fastl, Psychoacoustics, ch. 10). */
const LEAST_TREMOLO_DB = 2.5;
/** Of the ends of a note, where it swells and dies away, nothing is told. Set by hand, no source. */
const RELEASE_SEC = 0.05;
const ATTACK_SEC = 0.08;
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
  const { scoop, swing, fall, moves } = hearMoves(event, next, pitch, bands, contourMidi);
  return [
    ...(scoop === null ? [] : [scoop]),
    ...(swing === null ? [] : [{ kind: 'vibrato' as const, rateHz: swing.hz, depthCents: swing.depth }]),
    ...(moves === null ? [] : toldOf(moves)),
    ...(fall === null ? [] : [fall]),
  ];
}

/** What is heard of a note of one hole: how its pitch slides and swings, and how its level moves. */
export function hearMoves(
  event: SoundEvent,
  next: SoundEvent | undefined,
  pitch: HeldPitch,
  bands: BandLevels | null,
  contourMidi: Float32Array = event.contourMidi,
): { scoop: Scoop | null; swing: Swing | null; fall: Fall | null; moves: LevelMoves | null } {
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
  const moves = bands === null ? null : levelMoves(bands, [fromSec, toSec], swing, { ...event, lengthSec });
  return { scoop, swing, fall, moves };
}

/** The one of both that is more likely, if it is likely enough. */
function toldOf({ tremolo, hand, evidence }: LevelMoves): NoteOrnament[] {
  const nats = {
    tremolo:
      (tremolo?.depthDb ?? 0) < LEAST_TREMOLO_DB
        ? Number.NEGATIVE_INFINITY
        : logOddsOf(LEVEL_NETWORKS.tremolo, evidence),
    hand: hand === null ? Number.NEGATIVE_INFINITY : logOddsOf(LEVEL_NETWORKS.hand, evidence),
  };
  const told = nats.hand > nats.tremolo ? hand : tremolo;
  return told === null || nats[told.kind] < LEAST_NATS ? [] : [told];
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
