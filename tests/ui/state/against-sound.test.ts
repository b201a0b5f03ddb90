import { beforeAll, describe, expect, it } from 'vitest';
import { EVERYDAY } from '../../../samples/synth/style.ts';
import { synthesise } from '../../../samples/synth/take.ts';
import { Samples } from '../../../src/audio/samples.ts';
import type { Note } from '../../../src/tab/note.ts';
import { formatTabNote } from '../../../src/tab/text.ts';
import { buildTake } from '../../../src/take/take.ts';
import { reduce } from '../../../src/ui/commands/reduce.ts';
import { contradictionText, contradicts } from '../../../src/ui/state/against-sound.ts';
import { hear } from '../../../src/ui/state/hearing.ts';
import { marksOf } from '../../../src/ui/state/marks.ts';
import { openState, type UiState } from '../../../src/ui/state/state.ts';
import { EXAMPLE_SOURCE } from '../../take/example.ts';
import { HARP, sounding, tab } from '../example-take.ts';

/** Chords, octaves and other splits, and a shake, as they are played on a rendered harp. */
const PLAYED =
  '4+5 -4+5 5+6 4+5+6 6+7+8 -7+8 7+8 1+4 3+6 -1+4 -2+3+4 5+8 -5+6 3+4 1+2+3 -8+9 -4w5 4 -4'.split(' ');

let notes: readonly Note[];
let state: UiState;
beforeAll(async () => {
  const { samples, sampleRate, truth } = synthesise({
    name: 'chords',
    category: 'chords',
    harp: HARP,
    tab: PLAYED.join(' '),
    style: { ...EVERYDAY, tempoBpm: 80 },
    seed: 17,
  });
  // The turns of a shake may be notes of their own there: what comes after is counted from the end.
  const beginnings = PLAYED.map(
    (_, i) => truth.notes.at(i > PLAYED.indexOf('-4w5') ? i - PLAYED.length : i)?.onsetSec ?? 0,
  );
  notes = PLAYED.map((text, i) =>
    sounding(
      text,
      beginnings[i],
      beginnings[i + 1] === undefined ? (truth.notes.at(-1)?.offsetSec ?? 0) : beginnings[i + 1] - 0.02,
      `n${i + 1}`,
    ),
  );
  const durationSec = samples.length / sampleRate;
  const take = buildTake(
    { ...EXAMPLE_SOURCE, durationSec },
    {
      harp: { ...HARP, confidence: 1, alternatives: [] },
      notes,
      phrases: [{ firstNote: 0, lastNote: notes.length - 1 }],
    },
  );
  const hearing = await hear(Samples.from(samples, sampleRate), () => {});
  state = { ...openState('chords.take.json', take, {}, true), recording: 'ready', hearing };
});

const writtenAs = (i: number, text: string): Note => ({
  ...notes[i],
  holes: undefined,
  shake: undefined,
  ...tab(text),
});

describe('notes of several holes compared with the sound', () => {
  it('never contradict it if they are as played', () => {
    expect(notes.filter((note) => contradicts(state, note)).map((note) => formatTabNote(note))).toEqual([]);
  });

  it.each([
    ['4+5', '-6+7', "which isn't in -6+7"],
    ['4+5+6', '-4+5+6', 'sounds'],
    ['-4+5', '7+8', 'sounds'],
    ['-7+8', '-9+10', 'sounds'],
    ['4+5', '4+5+6', "hole 6 isn't heard in 4+5+6"],
    ['5+6', '4+5', "hole 4 isn't heard in 4+5"],
    ['7+8', '8+9', "isn't"],
    ['-4w5', '4w5', 'sounds'],
    ['4', '4+5', "hole 5 isn't heard in 4+5"],
    ['-4', '-6', 'sounds D5, a fifth lower than -6'],
  ])('do where %s is written %s', (played, written, said) => {
    const i = PLAYED.indexOf(played);
    const note = writtenAs(i, written);
    expect(contradicts(state, note)).toBe(true);
    expect(contradictionText(state, note, true)).toContain(said);
  });

  it('are one note if their reeds are heard one after the other, and two if one is heard again', () => {
    const [{ onsetSec, offsetSec }] = notes;
    const middleSec = (onsetSec + offsetSec) / 2;
    const said = (first: string, second: string): string[] => {
      const soundOf = (text: string) => sounding(text, 0, 1, '');
      const sounds = [
        { ...soundOf(first), onsetSec, offsetSec: middleSec },
        { ...soundOf(second), onsetSec: middleSec, offsetSec },
      ];
      const hearing = { track: state.hearing!.track, harps: [], sounds };
      return marksOf({ ...state, hearing })
        .filter(({ at }) => at === 0)
        .map(({ kind }) => kind);
    };
    expect(said('4', '5')).toEqual([]);
    expect(said('5', '5')).toEqual(['two']);
  });

  it('are mostly marked when any other chord is written', () => {
    const chords = PLAYED.slice(0, 16);
    const wrong = chords.flatMap((played, i) =>
      chords
        .filter((other) => !sharesHoles(played, other))
        .map((other) => contradicts(state, writtenAs(i, other))),
    );
    expect(wrong.length).toBeGreaterThan(150);
    expect(wrong.filter(Boolean).length / wrong.length).toBeGreaterThan(0.9);
  });

  it('keep the measured pitch when another hole is written', () => {
    const { f0Hz } = state.edited.take.notes[0];
    const after = reduce(state, { kind: 'key', key: '6', at: '2026-11-25T12:00:00.000Z' }).state;
    expect(after.edited.take.notes[0]).toMatchObject({ hole: 6 });
    expect(after.edited.take.notes[0].f0Hz).toBe(f0Hz);
  });
});

function sharesHoles(a: string, b: string): boolean {
  const [one, other] = [tab(a), tab(b)];
  return one.breath === other.breath && (one.holes ?? []).some((hole) => other.holes?.includes(hole));
}
