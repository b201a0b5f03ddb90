import type { PlayableNote } from '../../../harp/types.ts';
import { EVIDENCE_SLOTS, type PitchEvidence } from '../../pitch/evidence.ts';
import { CANDIDATES, type Frames } from '../../pitch/frames.ts';
import { harpPitches, reedSets } from '../pitches.ts';
import { explanation } from './segment.ts';

/** Two pitches at least this far apart, in semitones, that sound more likely than not are two reeds, not one that moves. */
const LEAST_APART = 2;
/** Where notes overlap they sound together for less than this, in frames. */
const LEAST_FRAMES = 8;
/** Frames on each side that belong to the same chord. */
const AROUND = 10;
/** In a take of which several pitches sound in less than this share, the single notes tell which harp it is. */
const LEAST_SHARE = 0.2;
/** More frames than this tell nothing new: a minute of chords, from the middle of the take. */
const MOST_FRAMES = 6000;

/** Only those frames of a take in which several pitches sound, one after the other; none if they are few. */
export function framesOfChords(frames: Frames): Frames {
  const kept = new Uint8Array(frames.count);
  let begun = 0;
  let several = 0;
  let sounding = 0;
  for (let t = 0; t <= frames.count; t++) {
    const pitches = t < frames.count ? pitchesApart(frames.evidence, t) : 0;
    if (pitches > 0) sounding++;
    if (pitches > 1) continue;
    if (t - begun >= LEAST_FRAMES) {
      several += t - begun;
      kept.fill(1, Math.max(0, begun - AROUND), t + AROUND);
    }
    begun = t + 1;
  }
  if (several < LEAST_SHARE * sounding) return pick(frames, []);
  const all = Array.from(kept.keys()).filter((t) => kept[t] === 1);
  const from = Math.max(0, Math.floor((all.length - MOST_FRAMES) / 2));
  return pick(frames, all.slice(from, from + MOST_FRAMES));
}

/** Whether none, one, or two and more pitches sound: 0, 1 or 2. */
function pitchesApart({ rows, sounding }: PitchEvidence, t: number): number {
  let lowest = Number.POSITIVE_INFINITY;
  let highest = 0;
  for (let s = t * EVIDENCE_SLOTS; s < (t + 1) * EVIDENCE_SLOTS; s++) {
    if (rows[s] === 0 || sounding[s] < 0) continue;
    lowest = Math.min(lowest, rows[s]);
    highest = Math.max(highest, rows[s]);
  }
  if (highest === 0) return 0;
  return highest - lowest >= LEAST_APART ? 2 : 1;
}

function pick(frames: Frames, at: readonly number[]): Frames {
  const { evidence } = frames;
  const picked = <T extends Float32Array | Uint8Array | Int8Array>(from: T, to: T, width: number): T => {
    for (const [i, t] of at.entries()) to.set(from.subarray(t * width, (t + 1) * width), i * width);
    return to;
  };
  const slots = at.length * EVIDENCE_SLOTS;
  const floats = at.length * CANDIDATES;
  return {
    hopSec: frames.hopSec,
    count: at.length,
    candidateMidi: picked(frames.candidateMidi, new Float32Array(floats), CANDIDATES),
    candidateStrength: picked(frames.candidateStrength, new Float32Array(floats), CANDIDATES),
    evidence: {
      offset: evidence.offset,
      rows: picked(evidence.rows, new Uint8Array(slots), EVIDENCE_SLOTS),
      sounding: picked(evidence.sounding, new Int8Array(slots), EVIDENCE_SLOTS),
      onset: picked(evidence.onset, new Int8Array(slots), EVIDENCE_SLOTS),
      shake: picked(evidence.shake, new Int8Array(slots), EVIDENCE_SLOTS),
    },
  };
}

/**
 * How much better the chords of a take are explained if the holes of a harp may sound together than one at a time, in nats: a
 * harp whose reeds don't lie in one breath side by side gains little.
 * @param frames  those in which several pitches sound (`framesOfChords`)
 * @param notes  of the harp, in the tuning of the take
 */
export function chordGain(frames: Frames, notes: readonly PlayableNote[]): number {
  if (frames.count === 0) return 0;
  const pitches = harpPitches(notes);
  return explanation(frames, pitches, reedSets(notes)) - explanation(frames, pitches, []);
}
