import { describe, expect, it } from 'vitest';
import { rms } from '../../samples/synth/dsp.ts';
import { planTake } from '../../samples/synth/plan.ts';
import { seededRng } from '../../samples/synth/rng.ts';
import { bandPass } from '../../samples/synth/scene/degrade.ts';
import { withGuitar } from '../../samples/synth/scene/guitar.ts';
import { roughened } from '../../samples/synth/scene/roughen.ts';
import { livedInNoise, withMetronome } from '../../samples/synth/scene/surroundings.ts';
import {
  betweenWalls,
  reflections,
  type Shoebox,
  someRoom,
  wandering,
} from '../../samples/synth/scene/walls.ts';
import { CLEAN, EVERYDAY } from '../../samples/synth/style.ts';
import { synthesise } from '../../samples/synth/take.ts';
import { parseTune } from '../../samples/synth/tune.ts';
import { playableNotes } from '../../src/harp/playable.ts';

const RATE = 44100;
const HARP = { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 };
const dB = (ratio: number): number => 20 * Math.log10(ratio);
const energy = (samples: Float32Array): number => samples.reduce((sum, value) => sum + value * value, 0);
const click = (sec: number): Float32Array => {
  const samples = new Float32Array(sec * RATE);
  samples[0] = 1;
  return samples;
};

describe('rooms by geometry', () => {
  it('reflections come from the walls when their mirror images say', () => {
    // Only the floor and the wall behind the player reflect much: everything else is nearly dead.
    const room: Shoebox = {
      sizeM: [4, 5, 3],
      playerM: [1, 2, 1.5],
      microphoneM: [3, 2, 1.5],
      lowAbsorption: [0.2, 0.99, 0.2],
      highAbsorption: [0.2, 0.99, 0.2],
    };
    const response = reflections(room, 0.02, RATE, seededRng(1));
    // Direct 2 m; floor and ceiling √(2² + 3²) = 3.606 m; walls behind both: image at -1 m and 7 m, 4 m away [calc]
    const at = (metres: number): number => Math.round(((metres - 2) / 343) * RATE);
    const peakNear = (sample: number): number =>
      Math.max(...response.subarray(sample - 3, sample + 4).map((value) => Math.abs(value)));
    const first = response.subarray(0, at(3.606) - 10);
    expect(peakNear(at(3.606))).toBeGreaterThan(20 * Math.max(...first.map((value) => Math.abs(value))));
    expect(peakNear(at(4))).toBeGreaterThan(0.5 * peakNear(at(3.606)));
  });

  it('the ratio of direct sound to what comes after 10 ms is as requested, from 500 Hz to 4 kHz', () => {
    const wet = betweenWalls(click(0.2), RATE, { rt60Sec: 0.4, directToReverbDb: -4 }, null, seededRng(7));
    const alone = betweenWalls(click(0.2), RATE, { rt60Sec: 0.4, directToReverbDb: 90 }, null, seededRng(7));
    const tail = bandPass(
      wet.map((value, n) => value - alone[n]),
      RATE,
      [500, 4000],
    ).subarray(0.01 * RATE);
    expect(dB(Math.sqrt(energy(bandPass(alone, RATE, [500, 4000])) / energy(tail)))).toBeCloseTo(-4, 0);
  });

  it("sound dies away in about the time of Sabine's formula", () => {
    for (const seed of [1, 2]) {
      const rng = seededRng(seed);
      const response = reflections(someRoom(0.5, rng), 0.4, RATE, rng);
      const left = (sec: number): number => 10 * Math.log10(energy(response.subarray(sec * RATE)));
      // 20 dB between 50 and 217 ms; rooms whose walls differ decay unevenly, so a third either way
      const perSec = (left(0.05) - left(0.217)) / 0.167;
      expect(perSec).toBeGreaterThan(80);
      expect(perSec).toBeLessThan(160);
    }
  });

  it('the level of a player who turns wanders slowly by about the requested amount', () => {
    const gains = wandering(60 * RATE, RATE, 4, seededRng(3));
    const levels = Array.from({ length: 600 }, (_, i) => dB(gains[i * RATE * 0.1]));
    const mean = levels.reduce((sum, value) => sum + value, 0) / levels.length;
    const deviation = Math.sqrt(levels.reduce((sum, v) => sum + (v - mean) ** 2, 0) / levels.length);
    expect(deviation).toBeGreaterThan(2);
    expect(deviation).toBeLessThan(6);
    const steps = levels.slice(1).map((value, i) => Math.abs(value - levels[i]));
    expect(Math.max(...steps)).toBeLessThan(4);
  });
});

describe('accompaniment', () => {
  it('a metronome clicks on every beat at its peak', () => {
    const silent = new Float32Array(4 * RATE);
    silent[RATE] = 1;
    const clicked = withMetronome(silent, RATE, 120, 'wood', 1, -6, seededRng(1));
    const loudest = (fromSec: number, toSec: number): number =>
      Math.max(...clicked.subarray(fromSec * RATE, toSec * RATE).map((value) => Math.abs(value)));
    for (const beat of [0, 1, 2, 3, 4]) {
      expect(loudest(0.4 + beat * 0.5, 0.42 + beat * 0.5)).toBeGreaterThan(0.2);
      expect(loudest(0.6 + beat * 0.5, 0.89 + beat * 0.5)).toBeLessThan(beat === 0 ? 1.1 : 0.02);
    }
    expect(dB(loudest(2.3, 2.5))).toBeCloseTo(-6, 1); // the fifth stroke begins the second bar
  });

  it('a dull guitar has little above its corner frequency, at the same level', () => {
    const tone = Float32Array.from({ length: 3 * RATE }, (_, n) => Math.sin((2 * Math.PI * 3000 * n) / RATE));
    const behind = (dullHz?: number): Float32Array => {
      const manner = dullHz === undefined ? {} : { dullHz };
      return withGuitar(tone, RATE, 100, 60, -20, seededRng(2), manner).map((value, n) => value - tone[n]);
    };
    expect(dB(rms(behind()) / rms(tone))).toBeCloseTo(-20, 1);
    expect(dB(rms(behind(600)) / rms(tone))).toBeCloseTo(-20, 1);
    const high = (samples: Float32Array): number => rms(bandPass(samples, RATE, [2000, 8000]));
    expect(dB(high(behind()) / high(behind(600)))).toBeGreaterThan(10);
  });

  it('the truth moves when a guitar plays alone first', () => {
    const spec = { name: 't', category: 't', harp: HARP, tab: '4 5 6', style: CLEAN, seed: 4 };
    const take = synthesise(spec);
    const guitar = { aloneSec: [1.5, 1] as const };
    const rough = roughened(take, { guitarDb: -20, guitar }, seededRng(1));
    expect(rough.truth.notes[1].onsetSec).toBeCloseTo(take.truth.notes[1].onsetSec + 1.5, 3);
    expect(rms(rough.samples.subarray(0.3 * RATE, 1.5 * RATE))).toBeGreaterThan(0);
  });

  it('the noise of a room has level 1 and falls towards the top', () => {
    const noise = livedInNoise(4 * RATE, RATE, seededRng(5));
    expect(rms(noise)).toBeCloseTo(1, 3);
    const octave = (low: number): number => rms(bandPass(noise, RATE, [low, 2 * low]));
    expect(octave(100)).toBeGreaterThan(octave(4000));
  });
});

describe('an everyday player', () => {
  const tab = '4 4 4 4 5 5 5 5 6 6 6 6 '.repeat(12);
  const plan = planTake(parseTune(tab), playableNotes(HARP), EVERYDAY, seededRng(6));
  const dips = plan.flatMap((note) => (note.dip ? [note.dip] : []));

  it('repeats with dips of every depth in the range', () => {
    const depths = dips.map((dip) => dip.depthDb);
    expect(Math.min(...depths)).toBeLessThan(11);
    expect(Math.max(...depths)).toBeGreaterThan(21);
    for (const dip of dips) expect(dip.holdShare).toBeGreaterThanOrEqual(0.3);
  });

  it('varies in level over seconds, while a practised player does not', () => {
    const spread = (style: typeof CLEAN): number => {
      const levels = planTake(parseTune(tab), playableNotes(HARP), style, seededRng(6)).map((n) => n.levelDb);
      const mean = levels.reduce((sum, value) => sum + value, 0) / levels.length;
      return Math.sqrt(levels.reduce((sum, value) => sum + (value - mean) ** 2, 0) / levels.length);
    };
    const steady = { ...CLEAN, levelSpreadDb: 0 };
    expect(spread(steady)).toBe(0);
    expect(spread({ ...steady, forceWanderDb: 4 })).toBeGreaterThan(2);
  });
});
