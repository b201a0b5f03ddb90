import { CLEAN, type PlayingStyle } from '../../samples/synth/style.ts';
import { type SynthTake, synthesise } from '../../samples/synth/take.ts';
import type { TruthNote } from '../../samples/synth/truth.ts';
import { segment } from '../../src/analysis/notes/decoding/segment.ts';
import type { SoundEvent } from '../../src/analysis/notes/events.ts';
import { findEvents } from '../../src/analysis/notes/find-events.ts';
import { anyGlide, harpPitches } from '../../src/analysis/notes/pitches.ts';
import { analyseFrames } from '../../src/analysis/pitch/frames.ts';
import { Samples } from '../../src/audio/samples.ts';
import { playableNotes } from '../../src/harp/playable.ts';
import type { HarpSpec } from '../../src/harp/types.ts';
import { noPause } from './tones.ts';

/** The rate to which recordings at 48 kHz are reduced. */
export const RATE = 24000;

export const richter = (key: string): HarpSpec => ({
  key,
  tuning: 'richter',
  temperament: 'equal',
  a4Hz: 440,
});

/** Clean playing without ornaments; each test adds what it needs. */
export const PLAIN: PlayingStyle = { ...CLEAN, vibratoShare: 0, tremoloShare: 0, timingSec: 0 };

export function played(tab: string, style: PlayingStyle, key = 'C', seed = 3): SynthTake {
  return synthesise({ name: 't', category: 'test', harp: richter(key), tab, style, seed }, RATE);
}

/** Events of a recording on a known harp. */
export async function eventsIn(data: Float32Array, key = 'C', rate = RATE): Promise<SoundEvent[]> {
  const samples = Samples.from(data, rate);
  const frames = await analyseFrames(samples, noPause);
  const pitches = harpPitches(playableNotes(richter(key)));
  return findEvents(samples, frames, segment(frames, pitches), anyGlide, [], noPause);
}

/** What was played and what was heard. */
export async function listen(
  tab: string,
  style: PlayingStyle,
  key = 'C',
  seed = 3,
): Promise<{ truth: readonly TruthNote[]; events: SoundEvent[] }> {
  const take = played(tab, style, key, seed);
  return { truth: take.truth.notes, events: await eventsIn(take.samples, key) };
}
