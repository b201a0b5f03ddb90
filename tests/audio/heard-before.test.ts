import { afterEach, describe, expect, it, vi } from 'vitest';
import { FinePitchMeter } from '../../src/analysis/pitch/fine-pitch.ts';
import { PartialLevel } from '../../src/analysis/pitch/partial-level.ts';
import { SpectrumQuad } from '../../src/analysis/pitch/spectrum.ts';
import { KnownPitches, KnownTracks } from '../../src/audio/heard-before.ts';
import { Samples } from '../../src/audio/samples.ts';
import { REED_SPECTRA, tone } from '../analysis/tones.ts';

const RATE = 22_050;
const recording = () => Samples.from(tone(440, REED_SPECTRA.falling, 1, RATE), RATE);
const contour = (midi: number) => new Float32Array(60).fill(midi);

describe('what was heard before', () => {
  afterEach(() => {
    vi.restoreAllMocks();
  });

  it('is not measured again at the same times and pitches, and comes back unchanged', () => {
    const samples = recording();
    const transforms = vi.spyOn(SpectrumQuad.prototype, 'transformFrom');
    const hear = (midi: number) => {
      const meter = new FinePitchMeter(samples);
      const level = new PartialLevel(samples);
      const before = transforms.mock.calls.length;
      const heard = {
        pitches: Array.from({ length: 40 }, (_, i) => meter.measure(0.2 + 0.01 * (i + 0.5), midi)),
        track: level.follow(40, contour(midi)),
        level: level.measure(40, contour(midi)),
        avoided: level.measure(40, contour(midi), 57),
      };
      return { heard, transforms: transforms.mock.calls.length - before };
    };
    const first = hear(69);
    const again = hear(69);
    expect(first.heard.pitches[0]?.midi).toBeCloseTo(69, 2);
    expect(first.transforms).toBeGreaterThan(20);
    expect(again).toEqual({ heard: first.heard, transforms: 0 });
    // Another pitch is another matter.
    expect(hear(69.25).transforms).toBe(first.transforms);
  });

  it('is kept for each recording by itself', () => {
    const meter = new FinePitchMeter(recording());
    expect(meter.measure(0.5, 69)?.midi).toBeCloseTo(69, 2);
    const silence = Samples.from(new Float32Array(RATE), RATE);
    expect(new FinePitchMeter(silence).measure(0.5, 69)).toBeNull();
  });

  it('is known only at multiples of the step and around the same pitch', () => {
    const known = new KnownPitches(1, 0.005);
    const found = { midi: 69.1, harmonicityDb: 20.3 };
    known.keep(0.015, 69, found);
    known.keep(0.02, 70, null);
    known.keep(0.0224, 70, found);
    known.keep(5, 70, found);
    expect(known.find(0.015, 69)).toEqual(found);
    expect(known.find(0.01 + 0.005, 69)).toEqual(found);
    expect(known.find(0.02, 70)).toBeNull();
    for (const [sec, near] of [
      [0.015, 69.5],
      [0.016, 69],
      [0.0224, 70],
      [0.025, 70],
      [5, 70],
    ])
      expect(known.find(sec, near), `${sec} ${near}`).toBeUndefined();
  });

  it('is given back once for the same contour', () => {
    const known = new KnownTracks<number>(60);
    let measured = 0;
    const get = (what: string, midi: number) => known.get(what, contour(midi), () => ++measured);
    expect([get('a', 60), get('a', 60), get('b', 60), get('b', 61), get('b', 61)]).toEqual([1, 1, 2, 3, 3]);
  });

  it('is measured anew in recordings of more than fifteen minutes, whose memory would add up', () => {
    const known = new KnownTracks<number>(901);
    let measured = 0;
    const get = () => known.get('a', contour(60), () => ++measured);
    expect([get(), get()]).toEqual([1, 2]);
    const pitches = new KnownPitches(901, 0.005);
    pitches.keep(0.01, 69, null);
    expect(pitches.find(0.01, 69)).toBeUndefined();
  });
});
