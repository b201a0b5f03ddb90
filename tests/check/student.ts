import { type Rng, seededRng } from '../../samples/synth/rng.ts';
import { parseTune } from '../../samples/synth/tune.ts';
import type { Reference } from '../../src/check/align/reference.ts';
import type { FindingKind } from '../../src/check/finding.ts';
import { parseHarpKey } from '../../src/harp/keys.ts';
import { findPlayable, playableNotes } from '../../src/harp/playable.ts';
import type { PlayableNote } from '../../src/harp/types.ts';
import type { Note } from '../../src/tab/note.ts';
import type { TabNote } from '../../src/tab/tab-note.ts';
import type { Take } from '../../src/take/schema.ts';
import { midiToHz } from '../../src/units.ts';
import { EXAMPLE_SOURCE, exampleNote } from '../take/example.ts';

/** A note as somebody plays it: what, when (in beats), how. */
export interface Stroke {
  readonly tab: TabNote;
  readonly onset: number;
  readonly length: number;
  /** Seconds after its time. */
  readonly lateSec?: number;
  readonly changes?: Partial<Note>;
}

/** A mistake that was planted, and where: in the strokes that are played, or in the reference when it is missing. */
export interface Planted {
  readonly kind: FindingKind;
  readonly stroke: number | null;
  readonly referenceIndex: number | null;
}

const harpOf = (key: string): PlayableNote[] =>
  playableNotes({ key, tuning: 'richter', temperament: 'equal', a4Hz: 440 });

/** The strokes of a tune in the notation of samples/tunes.ts. */
export function strokesOf(tab: string): Stroke[] {
  const strokes: Stroke[] = [];
  let onset = 0;
  for (const step of parseTune(tab)) {
    if (step.kind === 'phrase') continue;
    if (step.kind === 'note') strokes.push({ tab: step, onset, length: step.beats });
    onset += step.beats;
  }
  return strokes.map(({ tab: { hole, breath, bend, over }, ...rest }) => ({
    tab: { hole, breath, bend, over },
    ...rest,
  }));
}

/** What the strokes are as a reference, four beats to the bar. */
export function referenceOf(strokes: readonly Stroke[], key = 'C'): Reference {
  const harp = harpOf(key);
  return {
    name: 'tune',
    timed: true,
    harp: { tonicMidi: parseHarpKey(key).tonicMidi, tuning: 'richter' },
    notes: strokes.map(({ tab, onset, length }, i) => ({
      midi: findPlayable(harp, tab)!.midi,
      tab,
      onset,
      length,
      bar: Math.floor(onset / 4) + 1,
      line: 1,
      place: i + 1,
      word: null,
      breathBefore: i === 0,
    })),
  };
}

/** A take of the strokes. */
export function takeOf(strokes: readonly Stroke[], { key = 'C', beatSec = 0.5 } = {}): Take {
  const harp = harpOf(key);
  const notes = strokes.map(({ tab, onset, length, lateSec = 0, changes }, i): Note => {
    const { midi } = findPlayable(harp, tab)!;
    const cents = changes?.cents ?? 0;
    const onsetSec = 1 + onset * beatSec + lateSec;
    return {
      ...exampleNote('4', onsetSec, `n${i + 1}`),
      ...tab,
      offsetSec: onsetSec + 0.9 * length * beatSec,
      midi: midi + cents / 100,
      f0Hz: midiToHz(midi + cents / 100),
      ...changes,
    };
  });
  return {
    format: 'reedtrace-take',
    version: 1,
    source: EXAMPLE_SOURCE,
    harp: { key, tuning: 'richter', temperament: 'equal', a4Hz: 440, confidence: 1, alternatives: [] },
    notes: notes.sort((a, b) => a.onsetSec - b.onsetSec) as Take['notes'],
    beats: {},
    phrases: [],
    words: [],
    edits: [],
  };
}

/** The kinds of mistake that can be planted. */
export const PLANTABLE = ['wrong-note', 'octave', 'missed', 'added', 'restart', 'late'] as const;

/** What is left of a note that comes late. */
const SHORTEST_LATE_SEC = 0.12;
/** Notes between two mistakes, so that each can be told. */
const APART = 5;

/**
 * Plays a tune with mistakes, some notes apart: a wrong natural note, a note an octave off, one left out, one put in
 * between, a few notes taken again, one that comes late.
 */
export function withMistakes(
  tune: readonly Stroke[],
  kinds: readonly FindingKind[],
  options: { readonly beatSec: number; readonly spreadSec: number; readonly key?: string },
  rng: Rng,
): { strokes: Stroke[]; planted: Planted[] } {
  const harp = harpOf(options.key ?? 'C');
  const strokes: Stroke[] = [];
  const planted: Planted[] = [];
  let shift = 0;
  let next = 3 + Math.floor(3 * rng.next());
  const wobble = (): number => Math.max(-2.5, Math.min(2.5, rng.normal())) * options.spreadSec;
  for (let b = 0; b < tune.length; b++) {
    const stroke = { ...tune[b], onset: tune[b].onset + shift, lateSec: wobble() };
    const kind = b === next && b < tune.length - 2 ? kinds[planted.length % kinds.length] : null;
    if (b === next) next += APART + Math.floor(4 * rng.next());
    const here = { stroke: strokes.length, referenceIndex: b };
    const midi = findPlayable(harp, stroke.tab)!.midi;
    const naturals = harp.filter((note) => note.bend === 0 && !note.over);
    const asTab = ({ hole, breath, bend, over }: TabNote): TabNote => ({ hole, breath, bend, over });
    switch (kind) {
      case 'wrong-note': {
        const others = naturals.filter((n) => n.midi !== midi && Math.abs(n.midi - midi) <= 5);
        strokes.push({ ...stroke, tab: asTab(rng.pick(others)) });
        planted.push({ kind, ...here });
        break;
      }
      case 'octave': {
        const others = naturals.filter((n) => Math.abs(n.midi - midi) === 12);
        if (others.length === 0) {
          strokes.push(stroke);
          break;
        }
        strokes.push({ ...stroke, tab: asTab(rng.pick(others)) });
        planted.push({ kind, ...here });
        break;
      }
      case 'missed':
        planted.push({ kind, stroke: null, referenceIndex: b });
        break;
      case 'added': {
        strokes.push({ ...stroke, length: stroke.length / 2 });
        const nextMidi = findPlayable(harp, tune[b + 1].tab)!.midi;
        const others = naturals.filter(
          (n) => n.midi !== midi && n.midi !== nextMidi && Math.abs(n.midi - midi) <= 5,
        );
        planted.push({ kind, stroke: strokes.length, referenceIndex: null });
        strokes.push({
          tab: asTab(rng.pick(others)),
          onset: stroke.onset + stroke.length / 2,
          length: stroke.length / 2,
          lateSec: wobble(),
        });
        break;
      }
      case 'restart': {
        const count = 3 + Math.floor(3 * rng.next());
        strokes.push(stroke);
        const from = Math.max(0, b - count + 1);
        const back = tune[b].onset + tune[b].length - tune[from].onset + 1;
        shift += back;
        planted.push({ kind, stroke: strokes.length, referenceIndex: from });
        for (let k = from; k <= b; k++)
          strokes.push({ ...tune[k], onset: tune[k].onset + shift, lateSec: wobble() });
        break;
      }
      case 'late': {
        const lateSec = 0.17 + 0.1 * rng.next();
        // Later than this there is no room for the note.
        const there = stroke.length * options.beatSec - lateSec >= SHORTEST_LATE_SEC;
        strokes.push(there ? { ...stroke, lateSec } : stroke);
        if (there) planted.push({ kind, ...here });
        break;
      }
      default:
        strokes.push(stroke);
    }
  }
  return { strokes, planted };
}

export const randomOf = (seed: number): Rng => seededRng(seed);
