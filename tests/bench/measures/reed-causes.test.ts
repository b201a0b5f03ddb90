import { describe, expect, it } from 'vitest';
import { playableNotes } from '../../../src/harp/playable.ts';
import type { EstimatedNote } from '../scores/measure.ts';
import type { LabelledTake, ReferenceNote } from '../sets/takes.ts';
import { type ReedCause, reedCauses } from './reed-causes.ts';

const HARP = { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 };
const REEDS = playableNotes(HARP).filter(({ bend, over }) => bend === 0 && !over);

interface Note {
  readonly hole: number;
  readonly leakHole?: number;
  readonly dB?: number;
  readonly lengthSec?: number;
  readonly flags?: readonly string[];
}

/** Blow notes, one a second. */
const span = ({ hole, lengthSec = 0.5 }: Note, i: number) => ({
  onsetSec: i,
  offsetSec: i + lengthSec,
  f0Hz: REEDS.find((reed) => reed.hole === hole && reed.breath === 'blow')!.f0Hz,
  hole,
  breath: 'blow' as const,
  bend: 0,
  over: false,
});

const truthOf = (note: Note, i: number): ReferenceNote => ({
  ...span(note, i),
  leak: note.leakHole === undefined ? null : { hole: note.leakHole, dB: note.dB ?? -12 },
  sustainSec: [i, i + 0.4],
  nominalMidi: 0,
});

const foundOf = (note: Note, i: number): EstimatedNote => ({
  ...span(note, i),
  confidence: 1,
  leak: note.leakHole === undefined ? null : { hole: note.leakHole, levelDb: note.dB ?? -12 },
  flags: note.flags ?? [],
});

/** Causes that are counted at all when every note is found in its place. */
function causesOf(truth: readonly Note[], found: readonly Note[], category = 'leaky') {
  const take = { category, harp: HARP, notes: truth.map(truthOf) } as unknown as LabelledTake;
  const pairs = found.map((_, i) => [i, i] as const);
  const causes = Object.entries(reedCauses(take, found.map(foundOf), pairs));
  return Object.fromEntries(
    causes.filter(([, { missed, wronglySaid }]) => missed + wronglySaid > 0),
  ) as Partial<ReturnType<typeof reedCauses>>;
}

const MISSED = { missed: 1, wronglySaid: 0 };
const SAID = { missed: 0, wronglySaid: 1 };

describe('causes of wrong second reeds', () => {
  it('are none for a correct note', () =>
    expect(causesOf([{ hole: 5, leakHole: 6 }], [{ hole: 5, leakHole: 6 }])).toEqual({}));

  it.each<[ReedCause, Note, Note]>([
    ['note-misread', { hole: 5, leakHole: 6 }, { hole: 7 }],
    ['left-out', { hole: 5, leakHole: 6 }, { hole: 5, flags: ['too-noisy-to-judge'] }],
    ['short', { hole: 5, leakHole: 6, lengthSec: 0.1 }, { hole: 5 }],
    ['near-limit', { hole: 5, leakHole: 6, dB: -19 }, { hole: 5 }],
    ['other', { hole: 5, leakHole: 6 }, { hole: 5 }],
  ])('missed: %s', (cause, truth, found) => expect(causesOf([truth], [found])).toEqual({ [cause]: MISSED }));

  it('a reed missed with its note', () =>
    expect(causesOf([{ hole: 5, leakHole: 6 }], [])).toEqual({ 'no-note': MISSED }));

  it('another hole counts as missed and as wrongly reported', () =>
    expect(causesOf([{ hole: 5, leakHole: 6 }], [{ hole: 5, leakHole: 4 }])).toEqual({
      'other-hole': { missed: 1, wronglySaid: 1 },
    }));

  it('wrongly reported for a note nearby, another instrument, or coinciding partials', () => {
    expect(causesOf([{ hole: 6 }, { hole: 5 }], [{ hole: 6 }, { hole: 5, leakHole: 6 }])).toEqual({
      'note-near-by': SAID,
    });
    expect(causesOf([{ hole: 5 }], [{ hole: 5, leakHole: 6 }], 'guitar')).toEqual({
      'another-instrument': SAID,
    });
    expect(causesOf([{ hole: 4 }], [{ hole: 4, leakHole: 7 }])).toEqual({ coincident: SAID });
  });
});
