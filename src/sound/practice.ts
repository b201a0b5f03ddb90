import { concatenate } from '../audio/concatenate.ts';
import { stretch } from './stretch.ts';
import { mix, type SoundedNote, soundTab } from './tab-sound.ts';

/** What to play: the recording, the notes of the tab, or both at once. */
export interface PracticeSource {
  readonly sampleRate: number;
  /** The recording between two times; null to leave it out. */
  readonly excerpt: ((fromSec: number, toSec: number) => Float32Array) | null;
  /** Notes to sound; null to leave the tab out. */
  readonly notes: readonly SoundedNote[] | null;
}

/** One stretch of a take to practise. */
export interface Passage {
  /** First onset and last offset of its notes, in seconds. */
  readonly fromSec: number;
  readonly toSec: number;
  /** Clicks before it, in order and earlier than `fromSec`, in seconds of the take. */
  readonly countInSec: readonly number[];
}

export interface PracticeOptions {
  /** 0.5 is half speed; the pitch stays. */
  readonly speed: number;
  /** After each passage, a silence of the same length in which to play it back. */
  readonly answer: boolean;
}

/** A little is played around the notes, so that their attacks and ends are whole. */
const LEAD_SEC = 0.1;
const TAIL_SEC = 0.25;
const FADE_SEC = 0.01;
/** A click: a short falling tone, higher on the first of a bar; too short to be taken for a note of a harp. */
const CLICK_SEC = 0.04;
const CLICK_DECAY_SEC = 0.008;
const CLICK_HZ = 1000;
const FIRST_CLICK_HZ = 1500;
/** As loud as the passage's peak, but never too soft to hear or startling. */
const CLICK_PEAKS = [0.05, 0.3] as const;

/** The sound of passages one after another, as long as they take at this speed; no samples when there are none. */
export function practise(
  source: PracticeSource,
  passages: readonly Passage[],
  { speed, answer }: PracticeOptions,
): Float32Array {
  const parts = passages.flatMap((passage) => {
    const sound = soundPassage(source, passage, speed);
    const ownSec = (passage.toSec - passage.fromSec) / speed;
    return answer ? [sound, new Float32Array(Math.round(ownSec * source.sampleRate))] : [sound];
  });
  return concatenate(parts);
}

function soundPassage({ sampleRate, excerpt, notes }: PracticeSource, passage: Passage, speed: number) {
  const fromSec = Math.max(0, passage.fromSec - LEAD_SEC);
  const toSec = passage.toSec + TAIL_SEC;
  let sound = new Float32Array(Math.round(((toSec - fromSec) / speed) * sampleRate));
  if (excerpt !== null) {
    const heard = stretch(excerpt(fromSec, toSec), sampleRate, 1 / speed);
    fadeEnds(heard, Math.round(FADE_SEC * sampleRate));
    sound = mix(sound, heard).subarray(0, sound.length) as typeof sound;
  }
  if (notes !== null) {
    const inside = notes.filter(
      (note) => note.onsetSec >= passage.fromSec - 1e-6 && note.offsetSec <= passage.toSec + 1e-6,
    );
    // Made at the new speed rather than stretched: synthesis needs no stretching.
    const moved = inside.map((note) => ({
      ...note,
      onsetSec: note.onsetSec / speed,
      offsetSec: note.offsetSec / speed,
    }));
    const made = soundTab(moved, fromSec / speed, toSec / speed, sampleRate);
    sound = mix(sound, made).subarray(0, sound.length) as typeof sound;
  }
  return countIn(sound, fromSec, passage.countInSec, speed, sampleRate);
}

function countIn(
  sound: Float32Array,
  fromSec: number,
  clicksSec: readonly number[],
  speed: number,
  sampleRate: number,
): Float32Array {
  if (clicksSec.length === 0) return sound;
  const before = Math.max(0, Math.round(((fromSec - clicksSec[0]) / speed) * sampleRate));
  const out = new Float32Array(before + sound.length);
  out.set(sound, before);
  const loudest = sound.reduce((peak, value) => Math.max(peak, Math.abs(value)), 0);
  const peak = Math.min(CLICK_PEAKS[1], Math.max(CLICK_PEAKS[0], loudest));
  for (const [i, sec] of clicksSec.entries()) {
    const at = Math.round(((sec - clicksSec[0]) / speed) * sampleRate);
    const hz = i === 0 ? FIRST_CLICK_HZ : CLICK_HZ;
    for (let k = 0; k < CLICK_SEC * sampleRate && at + k < out.length; k++) {
      const sec = k / sampleRate;
      out[at + k] += peak * Math.exp(-sec / CLICK_DECAY_SEC) * Math.sin(2 * Math.PI * hz * sec);
    }
  }
  return out;
}

function fadeEnds(samples: Float32Array, length: number): void {
  const fade = Math.min(length, samples.length >> 1);
  for (let i = 0; i < fade; i++) {
    samples[i] *= i / fade;
    samples[samples.length - 1 - i] *= i / fade;
  }
}
