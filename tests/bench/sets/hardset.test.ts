import { describe, expect, it } from 'vitest';
import { seededRng } from '../../../samples/synth/rng.ts';
import { parseTune } from '../../../samples/synth/tune.ts';
import { TUNES } from '../../../samples/tunes.ts';
import { excerpt, hardTakes } from './hardset.ts';

describe('the hard development sets', () => {
  const tune = hardTakes('hard');
  const report = hardTakes('hard-report');

  it('have every kind of take, each with its own name', () => {
    const kinds = new Set(tune.map((take) => take.spec.category));
    for (const kind of ['lifelike', 'rough', 'guitar', 'click', 'fast']) expect(kinds).toContain(kind);
    expect(new Set(tune.map((take) => take.spec.name)).size).toBe(tune.length);
  });

  it('are the same every time, and share no seed', () => {
    expect(hardTakes('hard')).toEqual(tune);
    const seeds = new Set(tune.map((take) => take.spec.seed));
    expect(report.some((take) => seeds.has(take.spec.seed))).toBe(false);
  });

  it('have readable takes of about fifteen seconds', () => {
    for (const { spec } of [...tune, ...report]) {
      const steps = parseTune(spec.tab);
      const beats = steps.reduce((sum, step) => sum + (step.kind === 'phrase' ? 0 : step.beats), 0);
      expect((beats * 60) / spec.style.tempoBpm).toBeLessThan(20);
      expect(steps[0]).not.toMatchObject({ joined: true });
    }
  });

  it('use 2 draw or 3 blow, which sound alike, so that the breath need not change', () => {
    for (const { spec, source } of tune) {
      if (source === 'soundfont' || Object.values(TUNES).some((tab) => tab.includes(spec.tab))) continue;
      const [, before, after] = /(?:^| )(\d+):[\d.]+ -2:[\d.]+ (\d+):/.exec(spec.tab) ?? [];
      expect([spec.name, before, after]).toEqual([spec.name, undefined, undefined]);
    }
  });

  it('have excerpts that begin with a phrase and are as long as requested', () => {
    const cut = excerpt(TUNES['old-joe-clark'], 120, seededRng(1));
    const first = cut.split(' ').slice(0, 4).join(' ');
    expect(TUNES['old-joe-clark'].split(' | ').some((phrase) => phrase.startsWith(first))).toBe(true);
  });
});
