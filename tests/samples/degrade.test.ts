import { describe, expect, it } from 'vitest';
import { convolve, resample, rms } from '../../samples/synth/dsp.ts';
import { seededRng } from '../../samples/synth/rng.ts';
import {
  bandPass,
  clipped,
  inRoom,
  pinkNoise,
  whiteNoise,
  withNoise,
} from '../../samples/synth/scene/degrade.ts';
import { pluck } from '../../samples/synth/scene/guitar.ts';
import { speededTruth, withTalk } from '../../samples/synth/scene/scene.ts';
import { CLEAN } from '../../samples/synth/style.ts';
import { synthesise } from '../../samples/synth/take.ts';
import { encodeWav } from '../../samples/synth/wav.ts';

const RATE = 44100;
const sine = (hz: number, sec: number, rate = RATE): Float32Array =>
  Float32Array.from({ length: Math.round(sec * rate) }, (_, n) => Math.sin((2 * Math.PI * hz * n) / rate));
const dB = (ratio: number): number => 20 * Math.log10(ratio);
const middle = (samples: Float32Array): Float32Array =>
  samples.subarray(Math.floor(samples.length / 4), Math.floor((3 * samples.length) / 4));

describe('degradations', () => {
  it('convolution agrees with its definition as a sum', () => {
    const rng = seededRng(1);
    const a = whiteNoise(1500, rng);
    const b = whiteNoise(70, rng);
    const fast = convolve(a, b);
    for (const n of [0, 69, 800, 1030, 1568]) {
      let sum = 0;
      for (let k = 0; k < b.length; k++) sum += b[k] * (a[n - k] ?? 0);
      expect(fast[n]).toBeCloseTo(sum, 4);
    }
  });

  it('a room decays by 60 dB in its rt60', () => {
    const impulse = new Float32Array(RATE);
    impulse[0] = 1;
    const tail = inRoom(impulse, RATE, { rt60Sec: 0.5, directToReverbDb: 0 }, seededRng(4));
    const level = (sec: number): number => dB(rms(tail.subarray(sec * RATE, (sec + 0.05) * RATE)));
    // 0.3 s of the decay: 36 dB (± 4: noise, and the high parts go first)
    expect(Math.abs(level(0.1) - level(0.4) - 36)).toBeLessThan(4);
  });

  it('the ratio of direct sound to reverberation is as requested', () => {
    const impulse = new Float32Array(RATE);
    impulse[0] = 1;
    const wet = inRoom(impulse, RATE, { rt60Sec: 0.4, directToReverbDb: 5 }, seededRng(4));
    const after = wet.subarray(1).reduce((sum, v) => sum + v * v, 0);
    expect(10 * Math.log10(wet[0] ** 2 / after)).toBeCloseTo(5, 1);
  });

  it('a telephone band passes 1 kHz and stops 100 Hz and 8 kHz', () => {
    const through = (hz: number): number =>
      dB(rms(middle(bandPass(sine(hz, 1), RATE, [300, 3400]))) / rms(sine(hz, 1)));
    expect(through(1000)).toBeGreaterThan(-0.5);
    expect(through(100)).toBeLessThan(-40);
    expect(through(8000)).toBeLessThan(-30);
  });

  it('noise has the requested ratio, and pink noise falls by 3 dB per octave', () => {
    const clean = sine(440, 2);
    const noisy = withNoise(clean, 15, 'white', seededRng(2));
    const noise = noisy.map((v, n) => v - clean[n]);
    expect(dB(rms(clean) / rms(noise))).toBeCloseTo(15, 2);
    const pink = pinkNoise(8 * RATE, seededRng(3));
    const octave = (low: number): number => rms(bandPass(pink, RATE, [low, 2 * low]));
    expect(Math.abs(dB(octave(400) / octave(3200)))).toBeLessThan(1); // equal power in every octave
  });

  it('clipping cuts the peak and nothing below it', () => {
    const cut = clipped(sine(100, 0.1), 0.4);
    expect(Math.max(...cut)).toBeCloseTo(0.6, 4);
    expect(cut[5]).toBeCloseTo(Math.sin((2 * Math.PI * 500) / RATE), 6);
  });

  it('resampling keeps a tone and removes what would alias', () => {
    const tone = middle(resample(sine(1000, 1), RATE / 16000));
    const wanted = sine(1000, 1, 16000);
    expect(dB(rms(tone) / rms(wanted))).toBeCloseTo(0, 1);
    expect(dB(rms(middle(resample(sine(12000, 1), RATE / 16000))))).toBeLessThan(-50);
  });

  it('a plucked string sounds at its pitch', () => {
    const string = pluck(220, 1, RATE, seededRng(9));
    const at = (lag: number): number => {
      let sum = 0;
      for (let n = 8000; n < 24000; n++) sum += string[n] * string[n + lag];
      return sum;
    };
    let best = 150;
    for (let lag = 150; lag < 260; lag++) if (at(lag) > at(best)) best = lag;
    expect(best).toBe(Math.round(RATE / 220)); // 200 samples
  });

  it('a WAV file has the header of the format and the samples', () => {
    const bytes = Buffer.from(encodeWav([Float32Array.of(0, 1, -1.5), Float32Array.of(0, 0, 0)], 8000));
    expect(bytes.toString('latin1', 0, 4)).toBe('RIFF');
    expect(bytes.readUInt32LE(4)).toBe(bytes.length - 8);
    expect(bytes.readUInt16LE(22)).toBe(2);
    expect([44, 48, 52].map((at) => bytes.readInt16LE(at))).toEqual([0, 32767, -32767]);
  });
});

describe('truth follows the sound', () => {
  const take = synthesise({
    name: 't',
    category: 'test',
    harp: { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 },
    tab: '4 5 | 6 5 | 4:2',
    style: { ...CLEAN, phrasePauseSec: [0.4, 0.4] },
    seed: 2,
  });

  it('0.3 % faster is 5.19 cents sharper and ends earlier', () => {
    const faster = speededTruth(take.truth, 0.3);
    const [before, after] = [take.truth.notes[4], faster.notes[4]];
    expect(1200 * Math.log2(after.f0Hz / before.f0Hz)).toBeCloseTo(5.186, 2); // 1200 log2 1.003 [calc]
    expect(after.onsetSec).toBeCloseTo(before.onsetSec / 1.003, 4);
  });

  it('talk is put where nothing sounds, and the notes keep their sound', () => {
    const talker = (sec: number, rate: number): Float32Array => sine(150, sec, rate);
    const talked = withTalk(take, talker, 2, [1, 1], 0, seededRng(1));
    expect(talked.truth.talkSec).toHaveLength(4);
    for (const [from, to] of talked.truth.talkSec) {
      for (const note of talked.truth.notes) expect(note.offsetSec <= from || note.onsetSec >= to).toBe(true);
    }
    talked.truth.notes.forEach((note, i) => {
      const was = take.truth.notes[i];
      const length = Math.floor((was.offsetSec - was.onsetSec - 0.02) * RATE);
      const now = talked.samples.subarray(
        Math.round(note.onsetSec * RATE),
        Math.round(note.onsetSec * RATE) + length,
      );
      const then = take.samples.subarray(
        Math.round(was.onsetSec * RATE),
        Math.round(was.onsetSec * RATE) + length,
      );
      let same = 0;
      for (let n = 0; n < length; n++) same += now[n] * then[n];
      expect(
        same / Math.sqrt(now.reduce((s, v) => s + v * v, 0) * then.reduce((s, v) => s + v * v, 0)),
      ).toBeGreaterThan(0.9);
    });
  });
});
