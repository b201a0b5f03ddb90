import FFT from 'fft.js';
import { describe, expect, it } from 'vitest';
import { planTake } from '../../samples/synth/plan.ts';
import { seededRng } from '../../samples/synth/rng.ts';
import { CLEAN, type PlayingStyle, STUDENT } from '../../samples/synth/style.ts';
import { type SynthTake, synthesise, type TakeSpec } from '../../samples/synth/take.ts';
import { parseTune } from '../../samples/synth/tune.ts';
import { attackDb } from '../../samples/synth/voice.ts';
import { playableNotes } from '../../src/harp/playable.ts';
import type { HarpSpec } from '../../src/harp/types.ts';

const HARP: HarpSpec = { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 };
/** Nothing moves: what theory says must come out exactly. */
const STILL: PlayingStyle = {
  ...CLEAN,
  tempoBpm: 60,
  timingSec: 0,
  vibratoShare: 0,
  tremoloShare: 0,
  intonationCents: 0,
  bendErrorCents: [0, 0],
  droopCents: [0, 0],
  driftCentsPerSec: [0, 0],
  levelSpreadDb: 0,
  breathNoiseDb: [-90, -90],
};
const take = (tab: string, style: PlayingStyle, change: Partial<TakeSpec> = {}): SynthTake =>
  synthesise({ name: 't', category: 'test', harp: HARP, tab, style, seed: 3, ...change });

const dB = (power: number): number => 10 * Math.log10(power);

/** Mean power over a stretch. */
function powerOf({ samples, sampleRate }: SynthTake, fromSec: number, toSec: number): number {
  const part = samples.subarray(Math.round(fromSec * sampleRate), Math.round(toSec * sampleRate));
  return part.reduce((sum, v) => sum + v * v, 0) / part.length;
}

/** Power of the partials of `hz` in one Hann window of 16,384 samples at `atSec`. */
function partialPower({ samples, sampleRate }: SynthTake, hz: number, atSec: number): number {
  const size = 16384;
  const fft = new FFT(size);
  const input = fft.createComplexArray().fill(0);
  const start = Math.round(atSec * sampleRate) - size / 2;
  for (let n = 0; n < size; n++) {
    input[2 * n] = samples[start + n] * (0.5 - 0.5 * Math.cos((2 * Math.PI * n) / size));
  }
  const out = fft.createComplexArray();
  fft.transform(out, input);
  let sum = 0;
  for (let k = 1; k * hz < 9000; k++) {
    const bin = Math.round((k * hz * size) / sampleRate);
    for (let b = bin - 3; b <= bin + 3; b++) sum += out[2 * b] ** 2 + out[2 * b + 1] ** 2;
  }
  return sum;
}

describe('pitch', () => {
  it.each([
    ['4', 523.2511], // C5, A4 = 440 [calc]
    ['-2', 391.9954], // G4
    ["-3''", 440], // A4, a whole-tone bend
    ['4o', 622.254], // Eb5, overblow a semitone above 4 draw
  ])('%s sounds at its equal-tempered pitch', (tab, hz) => {
    const { truth, samples, sampleRate } = take(`${tab}:3`, STILL);
    // The truth wanders by a few cents as players do; the sound must agree with the truth to 0.3 cent.
    expect(Math.abs(1200 * Math.log2(truth.notes[0].f0Hz / hz))).toBeLessThan(3);
    const [from, to] = truth.notes[0].sustainSec;
    const part = samples.subarray(Math.round(from * sampleRate), Math.round(to * sampleRate));
    expect(
      Math.abs(1200 * Math.log2(turnedHz(part, sampleRate, truth.notes[0].f0Hz) / truth.notes[0].f0Hz)),
    ).toBeLessThan(0.3);
  });

  /** Mean frequency by the turning of the first partial's phase. */
  function turnedHz(part: Float32Array, sampleRate: number, nearHz: number): number {
    const window = 4096;
    let last = Number.NaN;
    let first = Number.NaN;
    let turned = 0;
    let blocks = 0;
    for (let at = 0; at + window <= part.length; at += 512) {
      let re = 0;
      let im = 0;
      for (let n = 0; n < window; n++) {
        const w = 0.5 - 0.5 * Math.cos((2 * Math.PI * n) / window);
        const angle = (2 * Math.PI * nearHz * (at + n)) / sampleRate;
        re += w * part[at + n] * Math.cos(angle);
        im -= w * part[at + n] * Math.sin(angle);
      }
      const phase = Math.atan2(im, re);
      if (Number.isNaN(first)) first = phase;
      else {
        const step = phase - last;
        turned += step - 2 * Math.PI * Math.round(step / (2 * Math.PI));
        blocks++;
      }
      last = phase;
    }
    return nearHz + (turned / (2 * Math.PI)) * (sampleRate / (blocks * 512));
  }

  it('follows A4 and just intonation: 5 blow at 443 Hz, a pure third (386.314 cents) above 4 blow', () => {
    const harp = { ...HARP, a4Hz: 443, temperament: 'just-7-limit' };
    const { notes } = take('4:2 | 5:2', STILL, { harp }).truth;
    expect(notes[0].f0Hz).toBeCloseTo(443 * 2 ** (3 / 12), -1);
    expect(Math.abs(1200 * Math.log2(notes[1].f0Hz / notes[0].f0Hz) - 386.314)).toBeLessThan(3);
  });

  it('a glide is halfway at its onset', () => {
    const glided = take("-3:2 ~-3'':2", { ...STILL, glideSec: [0.15, 0.15] });
    const { onsetSec } = glided.truth.notes[1];
    // B4 493.88 Hz to A4 440 Hz, half-way in cents: 466.16 Hz (Bb4) [calc].
    const windowed = (sec: number): number => zeroCrossHz(glided, sec);
    expect(Math.abs(1200 * Math.log2(windowed(onsetSec) / 466.16))).toBeLessThan(25);
    expect(windowed(onsetSec - 0.12)).toBeGreaterThan(488);
    expect(windowed(onsetSec + 0.12)).toBeLessThan(445);
  });

  /** Pitch at a point: the lag of the largest autocorrelation between 380 and 560 Hz, window 23 ms. */
  function zeroCrossHz({ samples, sampleRate }: SynthTake, atSec: number): number {
    const length = 1024;
    const start = Math.round(atSec * sampleRate) - length / 2;
    let bestLag = 0;
    let best = -Infinity;
    for (let lag = Math.floor(sampleRate / 560); lag <= sampleRate / 380; lag++) {
      let sum = 0;
      let energy = 0;
      for (let n = -lag / 2; n < length - lag / 2; n++) {
        const a = samples[Math.floor(start + n)];
        const b = samples[Math.floor(start + n) + lag];
        sum += a * b;
        energy += a * a + b * b;
      }
      if (sum / energy > best) {
        best = sum / energy;
        bestLag = lag;
      }
    }
    return sampleRate / bestLag;
  }
});

describe('level', () => {
  it('a tongued repeat dips as deep as requested, and its onset is where the level rises again', () => {
    const style: PlayingStyle = { ...STILL, dipDb: [16, 16], dipSec: [0.06, 0.06] };
    const repeated = take('4:2 4:2', style);
    const { onsetSec } = repeated.truth.notes[1];
    const held = dB(powerOf(repeated, onsetSec - 0.4, onsetSec - 0.1));
    const bottom = dB(powerOf(repeated, onsetSec - 0.006, onsetSec + 0.002));
    // Softer partials are duller, so the dip is a little deeper than the 16 dB of the reed.
    expect(held - bottom).toBeGreaterThan(13);
    expect(held - bottom).toBeLessThan(20);
    expect(dB(powerOf(repeated, onsetSec + 0.02, onsetSec + 0.03))).toBeGreaterThan(bottom + 6);
    expect(repeated.truth.notes[0].offsetSec).toBe(onsetSec);
  });

  it('a second reed is as far below as requested', () => {
    const style: PlayingStyle = { ...STILL, leakShare: 1, leakDb: [-12, -12] };
    const leaky = take('-5:4', style); // F5; beside it 4 draw (D5) or 6 draw (A5): few partials in common
    const clean = take('-5:4', { ...style, leakShare: 0 });
    const { leak } = leaky.truth.notes[0];
    expect(leak).not.toBeNull();
    expect([4, 6]).toContain(leak!.hole);
    expect(leak!.dB).toBeCloseTo(-12, 6);
    const beside = playableNotes(HARP).find(
      (n) => n.hole === leak!.hole && n.breath === 'draw' && n.bend === 0 && !n.over,
    )!;
    const atSec = 2;
    const main = partialPower(leaky, 698.456, atSec); // F5 [calc]
    const second = partialPower(leaky, beside.f0Hz, atSec);
    const without = partialPower(clean, beside.f0Hz, atSec);
    expect(dB(second / main)).toBeGreaterThan(-14.5);
    expect(dB(second / main)).toBeLessThan(-9.5);
    expect(dB(without / main)).toBeLessThan(-25);
  });

  it('the onset after a silence is where the power passes 15 dB below its early level', () => {
    const one = take('-1:3', { ...STILL, attackSec: [0.1, 0.1] });
    const { onsetSec } = one.truth.notes[0];
    let early = 0;
    for (let t = onsetSec; t < onsetSec + 0.15; t += 0.003)
      early = Math.max(early, powerOf(one, t, t + 0.007));
    const at = dB(powerOf(one, onsetSec - 0.0035, onsetSec + 0.0035)) - dB(early);
    expect(Math.abs(at + 15)).toBeLessThan(2.5); // window of 7 ms, about two periods of D4
  });

  it('a reed reaches -3 dB after its attack time, by growth and by approach', () => {
    expect(attackDb(0.08, 0.08, 0)).toBeCloseTo(-3, 0);
    expect(attackDb(0.08, 0.08, 1)).toBeCloseTo(-3, 0);
    expect(attackDb(0, 0.08, 0.5)).toBe(-Infinity);
  });

  it('lower reeds speak later', () => {
    const plan = (tab: string): number =>
      planTake(parseTune(tab), playableNotes(HARP), { ...STILL, attackSec: [0.05, 0.05] }, seededRng(1))[0]
        .attackSec;
    expect(plan('1:2')).toBeGreaterThan(1.3 * plan('8:2'));
  });
});

describe('truth', () => {
  const TAB = "4 4 -4 5 ~5 | -3 ~-3'' -2:2 1 -1 r:1 6:.5 6:.5 -6 7 -8 8";

  it.each([CLEAN, STUDENT])('has every note of the tab, in order and without gaps in time', (style) => {
    const { truth, samples, sampleRate } = take(TAB, style);
    const wanted = parseTune(TAB).filter((step) => step.kind === 'note');
    expect(truth.notes.map((n) => [n.hole, n.breath, n.bend])).toEqual(
      wanted.map((n) => [n.hole, n.breath, n.bend]),
    );
    truth.notes.forEach((note, i) => {
      expect(note.offsetSec).toBeGreaterThan(note.onsetSec + 0.04);
      expect(note.sustainSec[0]).toBeGreaterThanOrEqual(note.onsetSec);
      expect(note.sustainSec[1]).toBeLessThanOrEqual(note.offsetSec);
      if (i > 0) expect(note.onsetSec).toBeGreaterThan(truth.notes[i - 1].onsetSec);
    });
    expect(truth.notes.at(-1)!.offsetSec).toBeLessThan(samples.length / sampleRate);
  });

  it('keeps to the beat: onsets are within 80 ms of the tab', () => {
    const { notes } = take('4:1 -4:1 5:2 -5:1', { ...STILL, tempoBpm: 90 }).truth;
    [0, 1, 2, 4].forEach((beat, i) => {
      expect(Math.abs(notes[i].onsetSec - notes[0].onsetSec - (beat * 60) / 90)).toBeLessThan(0.08);
    });
  });

  it('the same seed gives the same sound, another seed another', () => {
    const of = (seed: number): Float32Array => take('4 -4', CLEAN, { seed }).samples;
    expect(of(5)).toEqual(of(5));
    expect(of(5)).not.toEqual(of(6));
  });

  it('refuses a note that the harp does not have, and an unknown sign', () => {
    expect(() => take("-5''", CLEAN)).toThrow('no draw 5 bend 2');
    expect(() => parseTune('4 x')).toThrow("'x' is not a note");
  });
});
