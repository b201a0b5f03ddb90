import type { Samples } from '../audio/samples.ts';
import { median, quantile } from '../statistics.ts';
import { amplitudeToDb, midiToHz } from '../units.ts';
import { frameAtTick, pitchContour } from './contour.ts';
import { FinePitchMeter } from './fine-pitch.ts';
import { CANDIDATES, type Frames } from './frames.ts';
import { OwnLevel, TICK_SEC } from './own-level.ts';
import type { CanGlide } from './pitches.ts';
import { type PlacedPitch, placeOnsets, SHORTEST } from './place-onsets.ts';
import { findPulse, pulseLogOdds } from './pulse.ts';
import { findDips } from './repeats.ts';
import type { Segment } from './segment.ts';
import { findSteps } from './steps.ts';

/** How a sound began, as far as the sound alone tells. */
export type EventStart = 'silence' | 'gap' | 'repeat' | 'slur' | 'glide';

/** A stretch of one sounding pitch; the harp is not known yet. */
export interface SoundEvent {
  /** Seconds from the first sample; it fills [onsetSec, offsetSec). */
  readonly onsetSec: number;
  readonly offsetSec: number;
  readonly start: EventStart;
  /** Mean pitch of the held part as a real-valued MIDI number (A4 = 440 Hz), and in Hz. */
  readonly midi: number;
  readonly f0Hz: number;
  /** The expected pitch that it was decoded as (see PitchState). */
  readonly expectedMidi: number;
  /** Pitch every 10 ms from the onset on, real-valued MIDI; NaN where it could not be measured. */
  readonly contourMidi: Float32Array;
  /** The held part, in seconds from the first sample. */
  readonly heldSec: readonly [number, number];
  /** RMS level of the held part, in dB re full scale (20 log10). */
  readonly levelDb: number;
  /** Harmonics against everything else, in dB (10 log10), median over the held part. */
  readonly harmonicityDb: number;
  /** How far the sound sank between the event before and this one, in dB; 0 when it did not, or nothing was before. */
  readonly dipDb: number;
  /** Mean evidence for the pitch over the event (see Salience). */
  readonly strength: number;
  /** Level of its first partials in dB re full scale; empty when they were not measured. */
  readonly partialsDb: Float32Array;
}

export const CONTOUR_STEP_SEC = 0.01;

/** Attack and release that are left out of the held part, when the event is long enough. */
const ATTACK_SEC = 0.07;
const RELEASE_SEC = 0.03;
/** A pause longer than this is silence, shorter a gap. */
const SILENCE_SEC = 0.1;
/** The sound has ended where its own level is this far below its held level for good. */
const END_BELOW_DB = 8;
/** Log odds from which a dip is a new note: a little below even, as a repeat missed weighs as much as one added. */
const REPEAT_LOG_ODDS = -0.3;
/** Dips from here on are surely repeats and help to find the pulse. */
const SURE_LOG_ODDS = 2;
/** Dips from here on are repeats even where a much softer sound follows. */
const BEYOND_DOUBT_LOG_ODDS = 3.5;
const PULSE_WEIGHT = 1;
/** No tongue repeats a note sooner, in ticks: 60 ms. */
const FASTEST_REPEAT = 12;
/** Events between two pauses. */
const PAUSE_EVERY = 20;

/** A placed pitch, or one of the notes that it was cut into. */
interface Stretch extends PlacedPitch {
  readonly repeat: boolean;
}

/** A stretch with its pitch tick by tick (see pitchContour). */
interface HeardStretch extends Stretch {
  readonly contour: Float32Array;
}

/** Turns decoded stretches into events: onsets and ends put right, repeats cut, pitch measured finely. */
export async function findEvents(
  samples: Samples,
  frames: Frames,
  segments: readonly Segment[],
  canGlide: CanGlide,
  pause: (fraction: number) => Promise<void>,
): Promise<SoundEvent[]> {
  const own = new OwnLevel(samples);
  const stretches = cutSteps(frames, cutRepeats(frames, own, placeOnsets(frames, own, segments, canGlide)));
  const meter = new FinePitchMeter(samples);
  const events: SoundEvent[] = [];
  for (let i = 0; i < stretches.length; i++) {
    if (i % PAUSE_EVERY === 0) await pause(i / stretches.length);
    events.push(measureEvent(samples, frames, meter, own, stretches[i], stretches[i - 1], events[i - 1]));
  }
  return events;
}

/**
 * Cuts held pitches where they were begun anew. Dips that are in doubt count for more on the pulse of the take,
 * which is found from the onsets that are sure.
 */
function cutRepeats(frames: Frames, own: OwnLevel, whole: readonly PlacedPitch[]): Stretch[] {
  const contours = whole.map(({ midi, fromTick, toTick }) => pitchContour(frames, midi, fromTick, toTick));
  const tracks = whole.map(({ fromTick }, i) => own.follow(fromTick, contours[i]));
  const dips = tracks.map((track, i) => findDips(track, contours[i]));
  const sure = whole.flatMap(({ fromTick }, i) => [
    fromTick,
    ...dips[i].filter(({ logOdds }) => logOdds > SURE_LOG_ODDS).map(({ tick }) => fromTick + tick),
  ]);
  const pulse = findPulse(sure.slice(1).map((tick, i) => (tick - sure[i]) * TICK_SEC));
  const stretches: Stretch[] = [];
  whole.forEach(({ midi, fromTick, toTick, glide }, i) => {
    const next = whole[i + 1]?.fromTick ?? toTick;
    let from = fromTick;
    const push = (to: number): void => {
      const repeat = from !== fromTick;
      if (to - from >= SHORTEST) {
        stretches.push({ midi, fromTick: from, toTick: to, repeat, glide: glide && !repeat });
      }
      from = to;
    };
    for (const { tick, logOdds } of dips[i]) {
      const at = fromTick + tick;
      const onPulse =
        0.5 * (pulseLogOdds(pulse, (at - from) * TICK_SEC) + pulseLogOdds(pulse, (next - at) * TICK_SEC));
      if (at - from < FASTEST_REPEAT || logOdds + PULSE_WEIGHT * onPulse < REPEAT_LOG_ODDS) continue;
      const isTail = at >= from + soundingTicks(tracks[i].levelDb.subarray(from - fromTick));
      if (!isTail || logOdds > BEYOND_DOUBT_LOG_ODDS) push(at);
    }
    push(from + soundingTicks(tracks[i].levelDb.subarray(from - fromTick)));
  });
  return stretches;
}

/** Cuts pitches that move to another one near them and hold that. */
function cutSteps(frames: Frames, stretches: readonly Stretch[]): HeardStretch[] {
  return stretches.flatMap((stretch) => {
    const { midi, fromTick, toTick } = stretch;
    const contour = pitchContour(frames, midi, fromTick, toTick);
    const steps = findSteps(contour).map((tick) => fromTick + tick);
    if (steps.length === 0) return [{ ...stretch, contour }];
    const bounds = [fromTick, ...steps, toTick];
    return bounds.slice(1).map((end, i) => {
      const piece = {
        ...stretch,
        fromTick: bounds[i],
        toTick: end,
        contour: pitchContour(frames, midi, bounds[i], end),
      };
      return i === 0 ? piece : { ...piece, repeat: false, glide: true };
    });
  });
}

/** Ticks until the level falls away for good. */
function soundingTicks(level: Float32Array): number {
  const held = quantile(level, 0.75);
  let end = level.length;
  while (end > 1 && level[end - 1] < held - END_BELOW_DB) end--;
  return end;
}

function measureEvent(
  samples: Samples,
  frames: Frames,
  meter: FinePitchMeter,
  own: OwnLevel,
  stretch: HeardStretch,
  before: Stretch | undefined,
  eventBefore: SoundEvent | undefined,
): SoundEvent {
  const onsetSec = stretch.fromTick * TICK_SEC;
  const offsetSec = Math.min(samples.durationSec, stretch.toTick * TICK_SEC);
  const coarse = stretch.contour;
  const heldSec = heldPart(onsetSec, offsetSec);
  const steps = Math.max(1, Math.floor((offsetSec - onsetSec) / CONTOUR_STEP_SEC));
  const contourMidi = new Float32Array(steps).fill(Number.NaN);
  const held: number[] = [];
  const harmonicity: number[] = [];
  for (let i = 0; i < steps; i++) {
    const sec = onsetSec + (i + 0.5) * CONTOUR_STEP_SEC;
    const near = coarse[Math.min(coarse.length - 1, Math.round((sec - onsetSec) / TICK_SEC))];
    const fine = meter.measure(sec, near);
    if (fine === null || Math.abs(fine.midi - near) > 0.5) continue;
    contourMidi[i] = fine.midi;
    if (sec < heldSec[0] || sec > heldSec[1]) continue;
    held.push(fine.midi);
    harmonicity.push(fine.harmonicityDb);
  }
  const midi = held.length > 0 ? held.reduce((sum, value) => sum + value, 0) / held.length : median(coarse);
  return {
    onsetSec,
    offsetSec,
    start: startOf(stretch, before),
    midi,
    f0Hz: midiToHz(midi),
    expectedMidi: stretch.midi,
    contourMidi,
    heldSec,
    levelDb: rmsDb(samples, heldSec),
    harmonicityDb: harmonicity.length > 0 ? median(harmonicity) : 0,
    dipDb:
      eventBefore === undefined || onsetSec - eventBefore.offsetSec > SILENCE_SEC
        ? 0
        : dip(samples, onsetSec),
    strength: meanStrength(frames, stretch),
    partialsDb: own.partialLevels(heldSec, midi),
  };
}

function heldPart(onsetSec: number, offsetSec: number): [number, number] {
  const length = offsetSec - onsetSec;
  const attack = Math.min(ATTACK_SEC, 0.4 * length);
  const release = Math.min(RELEASE_SEC, 0.2 * length);
  return [onsetSec + attack, offsetSec - release];
}

function startOf(stretch: Stretch, before: Stretch | undefined): EventStart {
  if (stretch.repeat) return 'repeat';
  if (stretch.glide) return 'glide';
  if (before === undefined) return 'silence';
  const pauseSec = (stretch.fromTick - before.toTick) * TICK_SEC;
  if (pauseSec > SILENCE_SEC) return 'silence';
  return pauseSec > 0 ? 'gap' : 'slur';
}

function rmsDb(samples: Samples, [fromSec, toSec]: readonly [number, number]): number {
  const rate = samples.sampleRate;
  const count = Math.max(1, Math.round((toSec - fromSec) * rate));
  return amplitudeToDb(Math.sqrt(samples.meanSquare(Math.round(fromSec * rate), count)) + 1e-10);
}

/** Depth of the lowest 10 ms around an onset below the louder of what is 60 ms before, and the softer of both sides. */
function dip(samples: Samples, onsetSec: number): number {
  const at = (sec: number): number => rmsDb(samples, [sec - 0.005, sec + 0.005]);
  let lowest = Number.POSITIVE_INFINITY;
  for (let k = -6; k <= 4; k++) lowest = Math.min(lowest, at(onsetSec + k * 0.005));
  let before = Number.NEGATIVE_INFINITY;
  let after = Number.NEGATIVE_INFINITY;
  for (let k = 4; k <= 16; k++) {
    before = Math.max(before, at(onsetSec - 0.01 - k * 0.005));
    after = Math.max(after, at(onsetSec + k * 0.005));
  }
  return Math.max(0, Math.min(before, after) - lowest);
}

function meanStrength(frames: Frames, { midi, fromTick, toTick }: Stretch): number {
  const from = frameAtTick(frames, fromTick);
  const to = Math.max(from + 1, frameAtTick(frames, toTick));
  let sum = 0;
  for (let t = from; t < to; t++) {
    for (let c = t * CANDIDATES; c < (t + 1) * CANDIDATES; c++) {
      if (Math.abs(frames.candidateMidi[c] - midi) < 1.2) {
        sum += frames.candidateStrength[c];
        break;
      }
    }
  }
  return sum / (to - from);
}
