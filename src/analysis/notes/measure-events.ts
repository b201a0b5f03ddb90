import type { Samples } from '../../audio/samples.ts';
import type { ParallelStage } from '../../parallel-stage.ts';
import { meanOver, median } from '../../statistics.ts';
import { amplitudeToDb, midiToHz } from '../../units.ts';
import { onsetAround, type PitchEvidence, rowOf, shakeAt, soundingAt } from '../pitch/evidence.ts';
import { FinePitchMeter } from '../pitch/fine-pitch.ts';
import { CANDIDATES, type Frames } from '../pitch/frames.ts';
import { PartialLevel, TICK_SEC } from '../pitch/partial-level.ts';
import { frameAtTick, pitchContour } from './contour.ts';
import { CONTOUR_STEP_SEC, type EventStart, type SoundEvent } from './events.ts';
import type { Stretch } from './rearticulation/split-rearticulations.ts';
import type { ReedSet } from './states.ts';
import { findSteps } from './steps.ts';

/** Attack and release to leave out of the held part, if the event is long enough. */
const ATTACK_SEC = 0.07;
const RELEASE_SEC = 0.03;
/** A pause longer than this is a silence, a shorter one a gap. */
const SILENCE_SEC = 0.1;

/** A stretch with its pitch tick by tick (see pitchContour). */
interface HeardStretch extends Stretch {
  readonly contour: Float32Array;
}

/** Splits stretches at steps of the pitch and measures each section. */
export const MEASURE_EVENTS: ParallelStage<
  { readonly frames: Frames; readonly stretches: readonly Stretch[] },
  SoundEvent[]
> = {
  name: 'measure events',
  chunkSize: 20,
  begin(samples, { frames, stretches }) {
    const partialLevel = new PartialLevel(samples);
    const meter = new FinePitchMeter(samples);
    return (from, to) =>
      stretches.slice(from, to).flatMap((stretch, i) => {
        const sections = splitAtSteps(frames, stretch);
        return sections.map((section, k) =>
          measureEvent(
            samples,
            frames,
            meter,
            partialLevel,
            section,
            sections[k - 1] ?? stretches[from + i - 1],
          ),
        );
      });
  },
};

/** Splits a stretch where its pitch moves to a nearby one and holds it. */
function splitAtSteps(frames: Frames, stretch: Stretch): HeardStretch[] {
  const { midi, fromTick, toTick } = stretch;
  const contour = pitchContour(frames, midi, fromTick, toTick);
  const steps = (stretch.set === undefined ? findSteps(contour) : []).map((tick) => fromTick + tick);
  if (steps.length === 0) return [{ ...stretch, contour }];
  const bounds = [fromTick, ...steps, toTick];
  return bounds.slice(1).map((end, i) => {
    const section = {
      ...stretch,
      fromTick: bounds[i],
      toTick: end,
      contour: pitchContour(frames, midi, bounds[i], end),
    };
    return i === 0 ? section : { ...section, rearticulated: false, glide: true };
  });
}

function measureEvent(
  samples: Samples,
  frames: Frames,
  meter: FinePitchMeter,
  partialLevel: PartialLevel,
  stretch: HeardStretch,
  before: Stretch | undefined,
): SoundEvent {
  const onsetSec = stretch.fromTick * TICK_SEC;
  const offsetSec = offsetOf(samples, stretch);
  const coarse = stretch.contour;
  const heldSec = heldPart(onsetSec, offsetSec);
  const { contourMidi, held, harmonicity } = followPitch(meter, coarse, onsetSec, offsetSec, heldSec);
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
      before === undefined || onsetSec - offsetOf(samples, before) > SILENCE_SEC ? 0 : dip(samples, onsetSec),
    strength: meanStrength(frames, stretch),
    partialsDb: partialLevel.partialLevels(heldSec, midi),
    soundingNats: meanSounding(frames, stretch),
    onsetNats: onsetNatsOf(frames, stretch),
    ...(stretch.again === undefined ? {} : { again: stretch.again }),
    ...(stretch.set === undefined ? {} : { set: stretch.set }),
    ...(stretch.set?.shake === true
      ? { notesPerSec: stretch.notesPerSec ?? turnsPerSec(frames, stretch, stretch.set) }
      : {}),
  };
}

/**
 * The pitch step by step, and what was measured in the held part. It takes no stretch, since V8 would compile it anew for each
 * shape of one.
 */
function followPitch(
  meter: FinePitchMeter,
  coarse: Float32Array,
  onsetSec: number,
  offsetSec: number,
  [heldFromSec, heldToSec]: readonly [number, number],
): { contourMidi: Float32Array; held: number[]; harmonicity: number[] } {
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
    if (sec < heldFromSec || sec > heldToSec) continue;
    held.push(fine.midi);
    harmonicity.push(fine.harmonicityDb);
  }
  return { contourMidi, held, harmonicity };
}

function offsetOf(samples: Samples, { toTick }: Stretch): number {
  return Math.min(samples.durationSec, toTick * TICK_SEC);
}

function heldPart(onsetSec: number, offsetSec: number): [number, number] {
  const length = offsetSec - onsetSec;
  const attack = Math.min(ATTACK_SEC, 0.4 * length);
  const release = Math.min(RELEASE_SEC, 0.2 * length);
  return [onsetSec + attack, offsetSec - release];
}

function startOf(stretch: Stretch, before: Stretch | undefined): EventStart {
  if (stretch.rearticulated) return 'rearticulation';
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

/** How far the quietest 10 ms around an onset lie below the softer of its two sides, in dB; a side is as loud as its loudest 10 ms. */
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
  return meanOver(from, to, (t) => {
    for (let c = t * CANDIDATES; c < (t + 1) * CANDIDATES; c++)
      if (Math.abs(frames.candidateMidi[c] - midi) < 1.2) return frames.candidateStrength[c];
    return 0;
  });
}

/** The network's mean log odds over a stretch: of its least certain pitch, or, for a shake, of its most certain. */
function meanSounding(frames: Frames, stretch: Stretch): number {
  const { fromTick, toTick, set } = stretch;
  const from = frameAtTick(frames, fromTick);
  const to = Math.max(from + 1, frameAtTick(frames, toTick));
  const { evidence } = frames;
  const rows = rowsOf(evidence, stretch);
  const mean = (valueAt: (t: number) => number): number =>
    meanOver(from, to, (t) => Math.max(-MOST_NATS, Math.min(MOST_NATS, valueAt(t))));
  if (set?.shake === true)
    return mean((t) =>
      Math.max(...rows.map((row) => Math.max(shakeAt(evidence, row, t), soundingAt(evidence, row, t)))),
    );
  return Math.min(...rows.map((row) => mean((t) => soundingAt(evidence, row, t))));
}

/** The network's highest log odds that one of its pitches begins around its onset, in nats. */
function onsetNatsOf({ evidence, hopSec }: Frames, stretch: Stretch): number {
  const at = Math.round((stretch.fromTick * TICK_SEC) / hopSec);
  return Math.max(-MOST_NATS, onsetAround(evidence, rowsOf(evidence, stretch), at));
}

const rowsOf = (evidence: PitchEvidence, { midi, set }: Stretch): number[] =>
  (set?.midis ?? [midi]).map((pitch) => rowOf(evidence, pitch));

/** Limits single frames so that none outvotes the others. */
const MOST_NATS = 5;

/** How often one pitch of a shake takes over from the other, per second. */
function turnsPerSec(frames: Frames, { fromTick, toTick }: Stretch, { midis }: ReedSet): number {
  const from = frameAtTick(frames, fromTick);
  const to = Math.max(from + 2, frameAtTick(frames, toTick));
  const [low, high] = midis.map((midi) => rowOf(frames.evidence, midi));
  let turns = 0;
  let last = 0;
  for (let t = from; t < to; t++) {
    const lead = soundingAt(frames.evidence, high, t) - soundingAt(frames.evidence, low, t);
    if (lead * last < 0) turns++;
    if (lead !== 0) last = lead;
  }
  return turns / ((to - from) * frames.hopSec);
}
