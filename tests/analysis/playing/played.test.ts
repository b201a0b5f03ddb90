import { describe, expect, it } from 'vitest';
import { seededRng } from '../../../samples/synth/rng.ts';
import { babble, handling, withClick } from '../../../samples/synth/scene/company.ts';
import { pinkNoise, whiteNoise, withHum } from '../../../samples/synth/scene/degrade.ts';
import { withTalk } from '../../../samples/synth/scene/scene.ts';
import { STUDENT } from '../../../samples/synth/style.ts';
import { segment } from '../../../src/analysis/notes/decoding/segment.ts';
import type { SoundEvent } from '../../../src/analysis/notes/events.ts';
import { findEvents } from '../../../src/analysis/notes/find-events.ts';
import { anyGlide, chromaticPitches } from '../../../src/analysis/notes/pitches.ts';
import { analyseFrames } from '../../../src/analysis/pitch/frames.ts';
import { joinFragments } from '../../../src/analysis/playing/fragments.ts';
import { sortPlayed } from '../../../src/analysis/playing/left-out.ts';
import { playedProbabilities } from '../../../src/analysis/playing/played.ts';
import { Samples } from '../../../src/audio/samples.ts';
import { event } from '../../tab/hand-made.ts';
import { PLAIN, played, RATE } from '../listen.ts';
import { noPause, REED_SPECTRA, tone } from '../tones.ts';

/** Everything that may be a note without a known harp, which gives a voice more chances to pass. */
async function heardIn(data: Float32Array): Promise<SoundEvent[]> {
  const samples = Samples.from(data, RATE);
  const frames = await analyseFrames(samples, noPause);
  return findEvents(samples, frames, segment(frames, chromaticPitches(0)), anyGlide, [], noPause);
}

async function keptOf(data: Float32Array): Promise<SoundEvent[]> {
  const events = await heardIn(data);
  return [...sortPlayed(joinFragments(events)).events];
}

const SECONDS = 4;
/** In order: none of the first twenty is left out because it fails. */
const SEEDS = [1, 2, 3, 4, 5, 6, 7, 8];

describe('keeps nothing from a recording without playing:', () => {
  it('talk', async () => {
    let voiced = 0;
    for (const seed of SEEDS) {
      const talk = babble(SECONDS, RATE, seededRng(seed));
      expect(await keptOf(talk), `voice ${seed}`).toEqual([]);
      voiced += (await heardIn(talk)).length;
    }
    // The test proves nothing unless voices are at least heard as events.
    expect(voiced).toBeGreaterThan(5);
  });

  it('a phone being moved', async () => {
    for (const seed of SEEDS) expect(await keptOf(handling(SECONDS, RATE, seededRng(seed)))).toEqual([]);
  });

  it('white and pink noise', async () => {
    expect(await keptOf(whiteNoise(SECONDS * RATE, seededRng(1)).map((v) => v * 0.2))).toEqual([]);
    expect(await keptOf(pinkNoise(SECONDS * RATE, seededRng(2)))).toEqual([]);
  });

  it('a click track, and mains hum in noise', async () => {
    const click = withClick(impulse(), RATE, 120, 0, seededRng(3));
    expect(await keptOf(click)).toEqual([]);
    const hum = withHum(pinkNoise(2 * RATE, seededRng(4)), RATE, 50, 5, seededRng(4));
    expect(await keptOf(hum)).toEqual([]);
  });

  const impulse = (): Float32Array => {
    const out = new Float32Array(SECONDS * RATE);
    out[0] = 0.5;
    return out;
  };
});

describe('playing is kept', () => {
  const tab = '4 -4 5:.5 5:.5 -5 6 | -6 -6 6 -5:.5 5:.5 -4 | 4:2';

  it.each([
    ['clean', PLAIN],
    ['of a student, with scoops, breath, vibrato and leaks', STUDENT],
  ])('%s: every note', async (_, style) => {
    const take = played(tab, style);
    const kept = await keptOf(take.samples);
    for (const { onsetSec, nominalMidi } of take.truth.notes) {
      const found = kept.filter((event) => Math.abs(event.onsetSec - onsetSec) < 0.06);
      expect(found.map(({ midi }) => Math.round(midi))).toContain(nominalMidi);
    }
  });

  it('with talk before, between and after: the notes stay, the talk goes', async () => {
    const take = withTalk(played(tab, PLAIN, 'C', 5), babble, 2, [1, 1.5], -3, seededRng(6));
    const kept = await keptOf(take.samples);
    expect(take.truth.talkSec.length).toBeGreaterThanOrEqual(3);
    const inTalk = kept.filter(({ onsetSec, offsetSec }) => {
      const middle = (onsetSec + offsetSec) / 2;
      return take.truth.talkSec.some(([from, to]) => middle > from && middle < to);
    });
    expect(inTalk).toEqual([]);
    expect(kept.length).toBeGreaterThanOrEqual(take.truth.notes.length - 1);
  });

  it('a gliding voice is less likely to be playing than a steady reed, all else being equal', async () => {
    const probabilityOf = async (f0: (sec: number) => number): Promise<number> => {
      const data = new Float32Array(RATE);
      data.set(tone(f0, REED_SPECTRA.falling, 0.5, RATE), RATE / 4);
      const events = await heardIn(data);
      return Math.max(0, ...playedProbabilities(events));
    };
    const held = await probabilityOf(() => 220);
    const gliding = await probabilityOf((sec) => 220 * 2 ** ((1.6 * sec) / 0.5 / 12 - 0.8 / 12));
    expect(held).toBeGreaterThan(0.9);
    expect(gliding).toBeLessThan(held);
  });
});

describe('probabilities', () => {
  it('there is one per event, in [0, 1], and none without events', () => {
    expect(playedProbabilities([])).toEqual([]);
    const two = playedProbabilities([event(60), event(62, { onsetSec: 0.5 })]);
    expect(two).toHaveLength(2);
    for (const probability of two) {
      expect(probability).toBeGreaterThan(0.5);
      expect(probability).toBeLessThanOrEqual(1);
    }
  });

  it('a clear note is likelier than a short, noisy, wavering one', () => {
    const wavering = new Float32Array(8).map((_, i) => 60 + (i % 2) * 0.8);
    const poor = event(60.4, {
      offsetSec: 0.08,
      harmonicityDb: 2,
      soundingNats: -3,
      strength: 1,
      partialsDb: new Float32Array(),
      contourMidi: wavering,
    });
    const [doubtful] = playedProbabilities([poor]);
    const [clear] = playedProbabilities([event(60)]);
    expect(doubtful).toBeLessThan(0.2);
    expect(clear).toBeGreaterThan(0.9);
  });
});
