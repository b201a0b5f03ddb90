import { PitchDetector } from 'pitchy';
import { describe, expect, it } from 'vitest';
import { FinePitchMeter } from '../../../src/analysis/pitch/fine-pitch.ts';
import { Samples } from '../../../src/audio/samples.ts';
import { centsBetween, hzToMidi, midiToHz } from '../../../src/units.ts';
import { mixed, noise, REED_SPECTRA, tone } from '../tones.ts';

const RATE = 22050;
const meterOf = (data: Float32Array, rate = RATE): FinePitchMeter =>
  new FinePitchMeter(Samples.from(data, rate));

/** Low C hole 1 to the highest overdraw of a high G, not on the steps of any scale. */
const RANGE = Array.from({ length: 23 }, (_, i) => 48.37 + 2.5 * i);

/** Worst error in cents at a few moments, with guesses up to 15 cents off. */
function worstCents(meter: FinePitchMeter, midi: number): number {
  let worst = 0;
  for (const guess of [midi - 0.15, midi, midi + 0.15]) {
    for (const sec of [0.1, 0.1371, 0.1742, 0.2113]) {
      worst = Math.max(worst, 100 * Math.abs((meter.measure(sec, guess)?.midi ?? Infinity) - midi));
    }
  }
  return worst;
}

describe('steady tones, from 134 Hz to 3.2 kHz', () => {
  // Measured: 0.08 cent at worst over all of these.
  it.each([8000, 16000, 22050, 24000, 44100])('are right to 0.1 cent at %d Hz', (rate) => {
    for (const [name, partials] of Object.entries(REED_SPECTRA)) {
      if (name === 'no fundamental') continue;
      for (const midi of RANGE.filter((m) => 3 * midiToHz(m) < 0.45 * rate)) {
        const meter = meterOf(tone(midiToHz(midi), partials, 0.31, rate), rate);
        expect(worstCents(meter, midi), `${name}, MIDI ${midi}`).toBeLessThan(0.1);
      }
    }
  });

  it('a pure sine near the top of the range too', () => {
    for (const midi of [96.2, 100.7, 103.9]) {
      const meter = meterOf(tone(midiToHz(midi), (k) => (k === 1 ? 1 : 0), 0.31, RATE));
      expect(worstCents(meter, midi)).toBeLessThan(0.1);
    }
  });

  it('without a fundamental, up to C6', () => {
    for (const midi of RANGE.filter((m) => m < 84)) {
      const meter = meterOf(tone(midiToHz(midi), REED_SPECTRA['no fundamental'], 0.31, RATE));
      expect(worstCents(meter, midi), `MIDI ${midi}`).toBeLessThan(0.1);
    }
  });

  it('in white noise 20 dB below: within 1.5 cents at any moment, 0.2 cent over 0.4 s', () => {
    for (const midi of RANGE) {
      const data = tone(midiToHz(midi), REED_SPECTRA.falling, 0.6, RATE);
      const meter = meterOf(mixed(data, noise(0.02, data.length, Math.round(midi))));
      let sum = 0;
      for (let i = 0; i < 40; i++) {
        const cents = 100 * (meter.measure(0.1 + 0.01 * i, midi)!.midi - midi);
        expect(Math.abs(cents), `MIDI ${midi}`).toBeLessThan(1.5);
        sum += cents;
      }
      expect(Math.abs(sum / 40), `MIDI ${midi}`).toBeLessThan(0.2);
    }
  });
});

describe('compared with the McLeod pitch method (pitchy 4.1.0)', () => {
  it.each([146.83, 261.63, 415.3, 587.33, 880, 1318.5])('%d Hz: the same within 1.5 cents', (hz) => {
    for (const name of ['falling', 'weak fundamental', 'second partial strong']) {
      const data = tone(hz, REED_SPECTRA[name], 0.3, 44100);
      const size = 4096;
      const [peerHz, clarity] = PitchDetector.forFloat32Array(size).findPitch(
        data.subarray(4000, 4000 + size),
        44100,
      );
      expect(clarity).toBeGreaterThan(0.9);
      const ours = meterOf(data, 44100).measure((4000 + size / 2) / 44100, hzToMidi(hz) + 0.1)!;
      // Its parabola through whole lags is off by up to 1.2 cents at 1318 Hz, ours by less than 0.1 (above).
      expect(Math.abs(centsBetween(midiToHz(ours.midi), peerHz)), name).toBeLessThan(1.5);
    }
  });
});

describe('pitch that moves', () => {
  // A wave of ± depth on 440 Hz: its mean is 440 Hz in cents; the mean of its Hz lies higher by these [calc].
  it.each([
    [25, 0.09],
    [50, 0.361],
    [100, 1.444],
  ])(
    'vibrato of ±%d cents: the mean in cents is the true centre, the mean in Hz is %d higher',
    (depth, bias) => {
      const wave = (sec: number): number => (depth / 100) * Math.sin(2 * Math.PI * 5 * sec);
      const meter = meterOf(tone((sec) => midiToHz(69 + wave(sec)), REED_SPECTRA.falling, 1.4, RATE));
      let cents = 0;
      let hz = 0;
      for (let i = 0; i < 100; i++) {
        const sec = 0.2 + i * 0.01; // five whole periods
        const { midi } = meter.measure(sec, 69 + wave(sec))!;
        cents += 100 * (midi - 69);
        hz += midiToHz(midi);
      }
      expect(Math.abs(cents / 100)).toBeLessThan(0.5);
      expect(Math.abs(centsBetween(hz / 100, 440) - bias)).toBeLessThan(0.5);
      expect(Math.abs(centsBetween(hz / 100, 440) - cents / 100 - bias)).toBeLessThan(0.12);
    },
  );

  it('keeps its extent: ±50 cents at 5 Hz reads at least ±46', () => {
    const wave = (sec: number): number => 0.5 * Math.sin(2 * Math.PI * 5 * sec);
    const meter = meterOf(tone((sec) => midiToHz(69 + wave(sec)), REED_SPECTRA.falling, 1.4, RATE));
    let [low, high] = [Infinity, -Infinity];
    for (let sec = 0.2; sec < 1.2; sec += 0.01) {
      const { midi } = meter.measure(sec, 69 + wave(sec))!;
      low = Math.min(low, midi);
      high = Math.max(high, midi);
    }
    expect(high).toBeGreaterThan(69.46);
    expect(low).toBeLessThan(68.54);
    expect(high).toBeLessThan(69.52);
    expect(low).toBeGreaterThan(68.48);
  });

  it('a slow glide of a semitone is followed within 2 cents', () => {
    const midiAt = (sec: number): number => 71 - sec / 0.8;
    const meter = meterOf(tone((sec) => midiToHz(midiAt(sec)), REED_SPECTRA.falling, 1, RATE));
    for (let sec = 0.1; sec < 0.8; sec += 0.05) {
      const { midi } = meter.measure(sec, midiAt(sec))!;
      expect(100 * Math.abs(midi - midiAt(sec))).toBeLessThan(2);
    }
  });
});

describe('harmonicity', () => {
  const medianDb = (midi: number, snrDb: number, rate: number): number => {
    const data = tone(midiToHz(midi), REED_SPECTRA.falling, 0.6, rate);
    const meter = meterOf(mixed(data, noise(0.2 * 10 ** (-snrDb / 20), data.length, 3)), rate);
    const values = Array.from({ length: 40 }, (_, i) => meter.measure(0.1 + 0.01 * i, midi)!.harmonicityDb);
    return values.sort((a, b) => a - b)[20];
  };

  it.each([60.3, 76.1, 90.2])('MIDI %d: grows with the signal-to-noise ratio', (midi) => {
    const ratios = [-5, 0, 5, 10, 15, 20, 25, 30];
    const read = ratios.map((snrDb) => medianDb(midi, snrDb, RATE));
    for (let i = 1; i < read.length; i++) expect(read[i]).toBeGreaterThan(read[i - 1] + 1);
  });

  it('is the ratio of partials to noise below 6 kHz within 2.5 dB, from 5 to 20 dB', () => {
    // White noise to 11 025 Hz: 6 / 11.025 of its power lies below 6 kHz, so the ratio there is 2.64 dB higher.
    for (const midi of [60.3, 76.1, 90.2]) {
      for (const snrDb of [5, 10, 15, 20]) {
        expect(Math.abs(medianDb(midi, snrDb, RATE) - (snrDb + 2.64))).toBeLessThan(2.5);
      }
    }
  });

  it('does not depend on the rate of the recording', () => {
    // Noise of the same density: its power grows with the band.
    const read = [16000, 22050, 24000, 31999].map((rate) =>
      medianDb(72.2, 15 - 10 * Math.log10(rate / 22050), rate),
    );
    expect(Math.max(...read) - Math.min(...read)).toBeLessThan(1);
    const clean = [16000, 22050, 24000, 31999].map((rate) => medianDb(72.2, 100, rate));
    expect(Math.min(...clean)).toBeGreaterThan(28);
  });
});

describe('where nothing sounds', () => {
  it('digital silence has no pitch', () => {
    expect(meterOf(new Float32Array(RATE)).measure(0.5, 69)).toBeNull();
  });

  it('there is no pitch before the first and after the last sample either', () => {
    const meter = meterOf(tone(440, REED_SPECTRA.falling, 0.3, RATE));
    expect(meter.measure(-1, 69)).toBeNull();
    expect(meter.measure(5, 69)).toBeNull();
  });
});
