import { describe, expect, it } from 'vitest';
import { Essentia } from '../../src/recording/essentia.ts';
import { judgeRecording } from '../../src/recording/judge-recording.ts';
import type { PlayedSpan } from '../../src/recording/sound.ts';

const RATE = 22_050;
const NOTES: readonly PlayedSpan[] = [0, 1, 2, 3, 4, 5, 6, 7].map((i) => ({
  onsetSec: 1 + 0.6 * i,
  offsetSec: 1.5 + 0.6 * i,
  f0Hz: 440 * 2 ** (([0, 2, 4, 5, 7, 5, 4, 2][i] ?? 0) / 12),
}));
const LENGTH_SEC = 7;

/** Reed-like notes with soft edges over a faint noise; `change` does the damage. */
function recording(
  change: (value: number, sec: number, i: number) => number = (value) => value,
): Float32Array {
  let seed = 1;
  const random = (): number => {
    seed = (seed * 1_103_515_245 + 12_345) % 2 ** 31;
    return seed / 2 ** 30 - 1;
  };
  return Float32Array.from({ length: LENGTH_SEC * RATE }, (_, i) => {
    const sec = i / RATE;
    const note = NOTES.find(({ onsetSec, offsetSec }) => sec >= onsetSec && sec < offsetSec);
    let value = 0.0004 * random();
    if (note !== undefined) {
      const edge = Math.min(1, (sec - note.onsetSec) / 0.04, (note.offsetSec - sec) / 0.04);
      for (let k = 1; k <= 12; k++)
        value += ((0.15 * edge) / k) * Math.sin(2 * Math.PI * k * note.f0Hz * sec + k * k);
    }
    return change(value, sec, i);
  });
}

const essentia = Essentia.load();
const kindsOf = (wave: Float32Array, notes = NOTES): string[] =>
  judgeRecording(wave, RATE, notes, essentia).problems.map(({ kind }) => kind);

describe('judging a recording', () => {
  it('finds nothing wrong with a good recording', () => {
    expect(kindsOf(recording())).toEqual([]);
  });

  it.each([
    ['clipping', recording((value) => Math.max(-0.12, Math.min(0.12, value)))],
    [
      'hum',
      recording(
        (value, sec) =>
          value + [1, 2, 3, 4].reduce((sum, k) => sum + 0.004 * Math.sin(2 * Math.PI * 50 * k * sec), 0),
      ),
    ],
    ['clicks', recording((value, _sec, i) => (i === 40_000 || i === 70_000 ? value + 0.5 : value))],
    ['dropouts', recording((value, sec) => (sec > 1.2 && sec < 1.25 ? 0 : value))],
    ['bandwidth', lowPassed(recording())],
  ] as const)('names %s and nothing else', (kind, wave) => {
    expect(kindsOf(wave)).toEqual([kind]);
  });

  it('reports that it begins and ends in a note', () => {
    const wave = recording().slice(Math.round(1.3 * RATE), Math.round(5.4 * RATE));
    const notes = NOTES.map((note) => ({
      ...note,
      onsetSec: Math.max(0, note.onsetSec - 1.3),
      offsetSec: note.offsetSec - 1.3,
    }));
    expect(
      kindsOf(
        wave,
        notes.map((note) => ({ ...note, offsetSec: Math.min(note.offsetSec, 4.1) })),
      ),
    ).toEqual(['cut-start', 'cut-end']);
  });

  it('says where a gap is, what it affects and what to do', () => {
    const wave = recording((value, sec) => (sec > 1.2 && sec < 1.25 ? 0 : value));
    const [problem] = judgeRecording(wave, RATE, NOTES, essentia).problems;
    expect(problem.fromSec).toBeCloseTo(1.2, 2);
    expect(problem.toSec).toBeCloseTo(1.25, 2);
    expect(problem.spoils).toContain('notes');
    expect(problem.cure).toMatch(/^[A-Z].*\.$/);
  });

  it('takes reeds beside most notes for another instrument only if they also sound in pauses', () => {
    const spaced = NOTES.filter((_, i) => i !== 2 && i !== 5);
    const beside = (sec: number): number =>
      0.03 * Math.sin(2 * Math.PI * [185, 233, 311][Math.floor(sec / 0.5) % 3] * sec);
    const sounds = (sec: number): boolean =>
      spaced.some(({ onsetSec, offsetSec }) => sec >= onsetSec && sec < offsetSec);
    const gaps = (value: number, sec: number): number =>
      NOTES.some(({ onsetSec, offsetSec }, i) => (i === 2 || i === 5) && sec >= onsetSec && sec < offsetSec)
        ? 0.0004 * Math.sin(value * 1e6)
        : value;
    const along = recording((value, sec) => gaps(value, sec) + beside(sec));
    const chords = recording((value, sec) => gaps(value, sec) + (sounds(sec) ? beside(sec) : 0));
    expect(kindsOf(along, spaced)).toContain('accompaniment');
    expect(kindsOf(chords, spaced)).not.toContain('accompaniment');
  });

  it('reports the wrong speed if all notes are 40 cents low', () => {
    const notes = NOTES.map((note) => ({ ...note, f0Hz: note.f0Hz * 2 ** (-40 / 1200) }));
    expect(kindsOf(recording(), notes)).toContain('speed');
  });
});

/** A steep low-pass at 3.2 kHz: windowed sinc. */
function lowPassed(wave: Float32Array): Float32Array {
  const side = 64;
  const cut = (2 * 3200) / RATE;
  const taps = Array.from({ length: 2 * side + 1 }, (_, i) => {
    const x = i - side;
    const window = 0.5 + 0.5 * Math.cos((Math.PI * x) / (side + 1));
    return window * (x === 0 ? cut : Math.sin(Math.PI * cut * x) / (Math.PI * x));
  });
  return wave.map((_, i) => taps.reduce((sum, tap, k) => sum + tap * (wave[i + k - side] ?? 0), 0));
}

describe('loudness by EBU R 128', () => {
  // ITU-R BS.1770-4, section 1: a 0 dBFS sine of 997 Hz in one channel reads -3.01 LKFS; here it is in two, so 3 dB more.
  it('measures a sine as the standard says', () => {
    const rate = 48_000;
    const wave = Float32Array.from({ length: 10 * rate }, (_, i) => Math.sin((2 * Math.PI * 997 * i) / rate));
    expect(essentia.loudness(wave, rate)).toBeCloseTo(0, 0);
  });
});
