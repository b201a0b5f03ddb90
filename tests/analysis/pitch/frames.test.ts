import { describe, expect, it } from 'vitest';
import { CANDIDATES, type Frames } from '../../../src/analysis/pitch/frames.ts';
import { STEPS_PER_SEMITONE } from '../../../src/analysis/pitch/pitch-grid.ts';
import { midiToHz } from '../../../src/units.ts';
import { framesOf, mixed, noise, type Partials, REED_SPECTRA, strongest, tone } from '../tones.ts';

/** Moments nearer to the ends than half the long window see the tone's edges. */
const EDGE_SEC = 0.06;

/** The frame centred nearest to a time, and all frames between two times (both inclusive). */
const frameAt = ({ hopSec }: Frames, sec: number): number => Math.round(sec / hopSec);
function* between(frames: Frames, fromSec: number, toSec: number): Generator<number> {
  for (let t = Math.ceil(fromSec / frames.hopSec - 1e-6); t <= toSec / frames.hopSec + 1e-6; t++) yield t;
}
const steady = (frames: Frames): Generator<number> =>
  between(frames, EDGE_SEC, (frames.count - 1) * frames.hopSec - EDGE_SEC);

/** Low C hole 1 (48) to past the highest overdraw of a high G (104), a major third apart and off the steps. */
const GRID = Array.from({ length: 15 }, (_, i) => 48.37 + 4 * i);
const TONE_SEC = 0.22;
/** Candidates lie on a grid and are refined between its steps; the fine pitch is measured elsewhere. */
const HALF_STEP_CENTS = 50 / STEPS_PER_SEMITONE;

/** Silence between tones of one recording: longer than the long window. */
const GAP_SEC = 0.12;

/**
 * Worst error in cents of the strongest candidate over all steady frames of each tone, the tones one after the other in
 * one recording; 1200 for an octave.
 */
async function worstCents(
  midis: readonly number[],
  toneOf: (midi: number) => Float32Array,
  sampleRate: number,
): Promise<Map<number, number>> {
  const apartSec = TONE_SEC + GAP_SEC;
  const data = new Float32Array(Math.ceil(midis.length * apartSec * sampleRate));
  for (const [i, midi] of midis.entries()) data.set(toneOf(midi), Math.round(i * apartSec * sampleRate));
  const frames = await framesOf(data, sampleRate);
  const worstOf = (midi: number, fromSec: number): number => {
    let worst = 0;
    for (const t of between(frames, fromSec + EDGE_SEC, fromSec + TONE_SEC - EDGE_SEC)) {
      const found = strongest(frames, t);
      worst = Math.max(worst, found === null ? Infinity : 100 * Math.abs(found.midi - midi));
    }
    return worst;
  };
  return new Map(midis.map((midi, i) => [midi, worstOf(midi, i * apartSec)]));
}

/** All tones whose error is larger than this many cents. */
const beyond = (worst: ReadonlyMap<number, number>, cents: number) =>
  [...worst].filter(([, error]) => !(error < cents));

/** Partials that fit below 0.45 of the rate. */
const partialsAt = (midi: number, sampleRate: number): number =>
  Math.floor((0.45 * sampleRate) / midiToHz(midi));

/** Tones of a spectrum in white noise 20 dB below. */
const noisyTone =
  (partials: Partials, sampleRate: number) =>
  (midi: number): Float32Array => {
    const data = tone(midiToHz(midi), partials, TONE_SEC, sampleRate);
    return mixed(data, noise(0.02, data.length, Math.round(midi)));
  };

describe.each([8000, 16000, 22050, 24000])('strongest candidate at %d Hz', (rate) => {
  // A spectrum can only be misleading if it has some partials.
  const shapes = Object.entries(REED_SPECTRA).filter(([name]) => name !== 'no fundamental');
  it.each(shapes)('%s: within half a step of the grid, never an octave out', async (name, partials) => {
    const grid = GRID.filter((midi) => partialsAt(midi, rate) >= (name === 'falling' ? 1 : 3));
    expect(grid.length).toBeGreaterThanOrEqual(10);
    const clean = (midi: number) => tone(midiToHz(midi), partials, TONE_SEC, rate);
    expect(beyond(await worstCents(grid, clean, rate), HALF_STEP_CENTS)).toEqual([]);
  });

  it.each(shapes)('%s, in white noise 20 dB below: within a step', async (name, partials) => {
    const grid = GRID.filter((m) => partialsAt(m, rate) >= (name === 'falling' ? 1 : 3));
    expect(beyond(await worstCents(grid, noisyTone(partials, rate), rate), 2 * HALF_STEP_CENTS)).toEqual([]);
  });
});

describe('a very weak fundamental', () => {
  const rate = 22050;
  const weak = (db: number, power: number): Partials => {
    return (k) => (k === 1 ? 10 ** (db / 20) : k ** -power);
  };

  it.each([
    ['24 dB below the line, partials falling by 3 dB an octave', weak(-24, 0.5)],
    ['30 dB below the line, partials falling by 6 dB an octave', weak(-30, 1)],
  ])('%s: the pitch, not its third partial', async (_, partials) => {
    const grid = Array.from({ length: 13 }, (_, i) => 48.37 + 3 * i);
    expect(beyond(await worstCents(grid, noisyTone(partials, rate), rate), 2 * HALF_STEP_CENTS)).toEqual([]);
  });

  it('even if it is missing, the pitch is among the candidates', async () => {
    for (let midi = 48.37; midi < 85; midi += 4) {
      const frames = await framesOf(tone(midiToHz(midi), weak(-200, 1), TONE_SEC, rate), rate);
      for (const t of steady(frames)) {
        const at = [...frames.candidateMidi.subarray(t * CANDIDATES, (t + 1) * CANDIDATES)];
        expect(100 * Math.min(...at.map((m) => Math.abs(m - midi)))).toBeLessThan(HALF_STEP_CENTS);
      }
    }
  });
});

describe('contents of a frame', () => {
  const rate = 22050;

  it('there is a frame every hop from the first sample to the last, and at least one', async () => {
    for (const length of [0, 1, 1000, rate]) {
      const frames = await framesOf(new Float32Array(length), rate);
      expect(frames.hopSec).toBeLessThanOrEqual(0.01);
      expect(frames.count).toBe(Math.floor(length / rate / frames.hopSec + 1e-9) + 1);
      expect(frames.candidateMidi).toHaveLength(frames.count * CANDIDATES);
      expect(frames.candidateStrength).toHaveLength(frames.count * CANDIDATES);
    }
  });

  it('candidates are in order of strength, and empty places come last', async () => {
    const data = mixed(tone(300, REED_SPECTRA.falling, 0.5, rate), noise(0.05, rate / 2));
    const frames = await framesOf(data, rate);
    for (let t = 0; t < frames.count; t++) {
      for (let c = 1; c < CANDIDATES; c++) {
        const at = t * CANDIDATES + c;
        expect(frames.candidateStrength[at]).toBeLessThanOrEqual(frames.candidateStrength[at - 1]);
      }
    }
  });

  it('frames are centred on their time: a tone that begins at 0.5 s is not heard before 0.45 s', async () => {
    const data = new Float32Array(rate);
    data.set(tone(880, REED_SPECTRA.falling, 0.5, rate), rate / 2);
    const frames = await framesOf(data, rate);
    for (const t of between(frames, 0, 0.45)) expect(strongest(frames, t)).toBeNull();
    for (const t of between(frames, 0.515, 0.97)) expect(strongest(frames, t)?.midi).toBeCloseTo(81, 1);
  });

  it('digital silence has no candidate', async () => {
    const frames = await framesOf(new Float32Array(rate), rate);
    expect(frames.candidateStrength.every((strength) => strength === 0)).toBe(true);
  });

  it('silence between two notes has no candidate', async () => {
    const data = new Float32Array(rate);
    data.set(tone(440, REED_SPECTRA.falling, 0.3, rate), 0);
    data.set(tone(523, REED_SPECTRA.falling, 0.3, rate), Math.round(0.7 * rate));
    const frames = await framesOf(data, rate);
    for (const t of between(frames, 0.36, 0.64)) expect(strongest(frames, t)).toBeNull();
  });

  it('evidence follows the sound, not the gain', async () => {
    const data = mixed(tone(350, REED_SPECTRA.falling, 0.4, rate), noise(0.01, 0.4 * rate));
    const loud = await framesOf(data, rate);
    const soft = await framesOf(
      data.map((v) => v * 0.01),
      rate,
    );
    for (const t of steady(loud)) {
      const [a, b] = [strongest(loud, t)!, strongest(soft, t)!];
      expect(b.midi).toBeCloseTo(a.midi, 3);
      expect(b.strength).toBeCloseTo(a.strength, 3);
    }
  });

  it('a tone has far more evidence than noise alone', async () => {
    const clean = await framesOf(tone(440, REED_SPECTRA.falling, 0.4, rate), rate);
    const hiss = await framesOf(noise(0.2, rate), rate);
    const meanBest = (frames: typeof hiss): number => {
      const strengths = [...steady(frames)].map((t) => strongest(frames, t)?.strength ?? 0);
      return strengths.reduce((sum, strength) => sum + strength, 0) / strengths.length;
    };
    expect(meanBest(clean)).toBeGreaterThan(1.5 * meanBest(hiss));
  });

  it('a pitch and its octave are distinguished when played one after the other', async () => {
    const data = new Float32Array(rate);
    data.set(tone(261.63, REED_SPECTRA.falling, 0.5, rate), 0);
    data.set(tone(523.25, REED_SPECTRA.falling, 0.5, rate), rate / 2);
    const frames = await framesOf(data, rate);
    expect(strongest(frames, frameAt(frames, 0.25))?.midi).toBeCloseTo(60, 1);
    expect(strongest(frames, frameAt(frames, 0.75))?.midi).toBeCloseTo(72, 1);
  });
});
