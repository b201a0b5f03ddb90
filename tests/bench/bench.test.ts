import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import {
  addMeasured,
  calibrationError,
  type EstimatedNote,
  f1,
  measureTake,
  quantile,
  reliability,
} from './scores/measure.ts';
import { renderSvg } from './scores/svg.ts';
import { errorTable, scoreTable } from './scores/table.ts';
import { type LabelledTake, loadTakes } from './sets/takes.ts';

const samples = fileURLToPath(new URL('../../samples', import.meta.url));

/** Returns the truth, then changes it. */
const transcribed = (
  take: LabelledTake,
  change: (note: EstimatedNote, index: number) => Partial<EstimatedNote> = () => ({}),
): EstimatedNote[] =>
  take.notes.map((note, i) => {
    const plain: EstimatedNote = {
      ...note,
      confidence: 1,
      leak: note.leak && { hole: note.leak.hole, levelDb: note.leak.dB },
    };
    return { ...plain, ...change(plain, i) };
  });

describe('the benchmark on known transcriptions', () => {
  const takes = loadTakes(samples);

  it('finds the bundled takes, with their recordings', () => {
    expect(takes.length).toBeGreaterThanOrEqual(3);
    for (const take of takes) expect(existsSync(take.path)).toBe(true);
  });

  it('gives a perfect transcription full marks and no errors', () => {
    const all = addMeasured(takes.map((take) => measureTake(take, transcribed(take))));
    for (const tally of [all.note, all.note100, all.noteOffset, all.onset, all.tab, all.tab100])
      expect(f1(tally)).toBe(1);
    expect(Math.max(...all.naturalCents, ...all.bentCents)).toBe(0);
    expect(Object.values(all.errors).every((count) => count === 0)).toBe(true);
    expect(calibrationError(all.confidence)).toBe(0);
  });

  it('takes marks off for mistakes and nothing else', () => {
    const [take] = takes;
    const of = (change: Parameters<typeof transcribed>[1]): ReturnType<typeof measureTake> =>
      measureTake(take, transcribed(take, change));
    const late = of(() => ({ onsetSec: -1 }));
    expect([f1(late.note), f1(late.tab)]).toEqual([0, 0]);

    const sharp = of((note) => ({ f0Hz: note.f0Hz * 2 ** (3 / 1200) }));
    expect(f1(sharp.note)).toBe(1);
    expect(quantile([...sharp.naturalCents, ...sharp.bentCents], 0.5)).toBeCloseTo(3, 6);

    const breathless = of((note) => ({ breath: note.breath === 'blow' ? 'draw' : 'blow', confidence: 0.75 }));
    expect([f1(breathless.note), f1(breathless.tab)]).toEqual([1, 0]);
    expect(breathless.errors['hole-or-breath'] + breathless.errors['bend-as-natural']).toBe(
      take.notes.length,
    );
    expect(calibrationError(breathless.confidence)).toBeCloseTo(0.75, 9);

    const shifted = of((note) => ({ onsetSec: note.onsetSec + 0.08 }));
    expect(f1(shifted.note100)).toBe(1);
    expect(shifted.errors['late-onset']).toBe(take.notes.length);
  });

  it('prints and draws a table with every category', () => {
    const byCategory = new Map(takes.map((take) => [take.category, measureTake(take, transcribed(take))]));
    const table = scoreTable(byCategory);
    for (const category of byCategory.keys()) expect(table).toContain(category);
    expect(table).toContain('1.000');
    expect(errorTable(byCategory)).toContain('octave');
    const svg = renderSvg([{ name: 'perfect', byCategory, realTimeFactor: null }]);
    expect(svg.startsWith('<svg')).toBe(true);
    expect(svg).toContain('perfect');
  });
});

describe('statistics', () => {
  it('quantiles are interpolated', () => {
    expect(quantile([4, 1, 3, 2], 0.5)).toBe(2.5);
    expect(quantile([10], 0.9)).toBe(10);
    expect(quantile([], 0.5)).toBeNull();
  });

  it('ten notes at confidence 0.9 with nine right are calibrated', () => {
    const notes = Array.from({ length: 10 }, (_, i) => [0.9, i > 0] as const);
    expect(calibrationError(notes)).toBeCloseTo(0, 12);
    expect(reliability(notes)).toEqual([expect.objectContaining({ from: 0.9, count: 10, shareRight: 0.9 })]);
  });

  it('half right at 0.95 and all right at 0.55 are 0.45 off [calc]', () => {
    const notes = [
      [0.95, true],
      [0.95, false],
      [0.55, true],
      [0.55, true],
    ] as const;
    expect(calibrationError(notes)).toBeCloseTo(0.45, 12);
  });
});
