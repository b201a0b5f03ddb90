import { CONTOUR_STEP_SEC, type SoundEvent } from '../../analysis/notes/events.ts';
import { logOddsOf } from '../../decode/small-network.ts';
import type { Fall, NoteOrnament, Scoop } from '../../tab/ornament.ts';
import { midiToHz } from '../../units.ts';
import type { HeldPitch } from '../held.ts';
import type { BandLevels } from './bands.ts';
import { type LevelMoves, levelMoves } from './level-moves.ts';
import { LEVEL_NETWORKS } from './level-network.ts';
import { findFall, findScoop } from './slides.ts';
import { type Swing, SwingFinder } from './swing.ts';

/** Shorter notes have no time for hands, tremolo or vibrato. */
export const LEAST_WAVES_SEC = 0.42;

/**
 * Vibrato: 4 to 8 Hz (Desain, Honing, Aarts and Timmers, 1999), with some room for faster and slower players. The least depth
 * is just above the narrowest vibrato of string players (0.2 semitones from peak to peak, so 10 cents either way; same source).
 */
const VIBRATO = new SwingFinder(CONTOUR_STEP_SEC, {
  slowestHz: 3.25,
  fastestHz: 8.5,
  leastDepth: 11,
  leastShare: 0.6,
  fewestWaves: 2.2,
});
/** Log odds above which they are reported, in nats; for hands so that both recall and precision reach 0.9 on development takes. */
const LEAST_NATS = { tremolo: 0, hand: -0.4 } as const;
/** A tremolo swings this far from trough to peak: well above what is just audible at such rates (Zwicker and Fastl, Psychoacoustics, ch. 10). */
const LEAST_TREMOLO_DB = 2.5;
/** The ends of a note, where it swells and dies away, are ignored. Set by hand, no source. */
const RELEASE_SEC = 0.05;
const ATTACK_SEC = 0.08;
/**
 * What the player did to a note, from its pitch every 10 ms and the level of its partials every 20 ms; in time order, usually
 * empty. Notes of several holes are not judged, because their reeds beat.
 * @param next  the event after it, if it continues this one
 * @param bands  null if not measured
 * @param contourMidi  its pitch as far as it was followed, beyond its end as well (see `withTail`)
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

/** What is heard in a note of one hole: how its pitch slides and swings, and how its level moves. */
export function hearMoves(
  event: SoundEvent,
  next: SoundEvent | undefined,
  pitch: HeldPitch,
  bands: BandLevels | null,
  contourMidi: Float32Array = event.contourMidi,
): { scoop: Scoop | null; swing: Swing | null; fall: Fall | null; moves: LevelMoves | null } {
  const cents = centsFrom(pitch.midi, contourMidi);
  const goesOn = next?.start === 'glide' && next.onsetSec - event.offsetSec < CONTOUR_STEP_SEC;
  const scoop = event.start === 'glide' ? null : findScoop(cents, midiToHz(pitch.midi));
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

/** The likelier of tremolo and hands, if it is likely enough. */
function toldOf({ tremolo, hand, evidence }: LevelMoves): NoteOrnament[] {
  const swings = tremolo !== null && tremolo.depthDb >= LEAST_TREMOLO_DB;
  if (!swings && hand === null) return [];
  const told = evidence();
  const over = (kind: 'tremolo' | 'hand'): number => logOddsOf(LEVEL_NETWORKS[kind], told) - LEAST_NATS[kind];
  const tremoloNats = swings ? over('tremolo') : Number.NEGATIVE_INFINITY;
  const handNats = hand === null ? Number.NEGATIVE_INFINITY : over('hand');
  if (hand !== null && handNats >= 0 && (tremoloNats < 0 || handNats > tremoloNats)) return [hand];
  return swings && tremoloNats >= 0 ? [tremolo] : [];
}

function centsFrom(midi: number, contourMidi: Float32Array): number[] {
  const cents: number[] = [];
  for (let i = 0; i < contourMidi.length; i++) cents.push(100 * (contourMidi[i] - midi));
  return cents;
}

/** The values, with unknown ones taken from their neighbours. */
function filled(values: readonly number[]): number[] {
  let known = 0;
  while (known < values.length && Number.isNaN(values[known])) known++;
  const all: number[] = [];
  if (known === values.length) return all;
  let last = values[known];
  for (let i = 0; i < values.length; i++) {
    if (!Number.isNaN(values[i])) last = values[i];
    all.push(last);
  }
  return all;
}
