import type { PlannedNote } from '../../../samples/synth/plan.ts';
import { renderTake } from '../../../samples/synth/render.ts';
import { seededRng } from '../../../samples/synth/rng.ts';
import { type Degradation, roughened } from '../../../samples/synth/scene/roughen.ts';
import { BALLAD, CLEAN, EVERYDAY, type PlayingStyle, STUDENT } from '../../../samples/synth/style.ts';
import { randomTimbre } from '../../../samples/synth/timbre.ts';
import { truthHarp, truthNotes } from '../../../samples/synth/truth.ts';
import { Samples } from '../../../src/audio/samples.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import type { HarpSpec } from '../../../src/harp/types.ts';
import { findPhrases } from '../../../src/music/phrases.ts';
import { transcribe } from '../../../src/pipeline.ts';
import type { Note } from '../../../src/tab/note.ts';
import { tabOf } from '../../../src/tab/tab-note.ts';
import type { Take } from '../../../src/take/schema.ts';
import { buildTake } from '../../../src/take/take.ts';
import { linesOf, type Performance, perform } from './perform.ts';
import { SONGS, type Song } from './songs.ts';

/** A take of a song, before words, and what was played. */
export interface SongTake {
  readonly song: Song;
  readonly take: Take;
  readonly performance: Performance;
  /** True when one verse was played, false when all three were. */
  readonly oneVerse: boolean;
  /** For each note that was played, the position of the one that was heard; -1 when it was missed. */
  readonly heard: readonly number[];
}

const STYLES: readonly PlayingStyle[] = [CLEAN, EVERYDAY, BALLAD, STUDENT];
const ROUGH: readonly Degradation[] = [
  { rt60: 0.4, drr: 6, snr: 28, noise: 'pink' },
  { rt60: 0.3, drr: 8, snr: 30, noise: 'pink', phone: 'wide' },
];
const HARP: HarpSpec = { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 };
const RATE = 22_050;
/** A note that was played is found in one that begins this near and has its pitch. */
const SAME_ONSET_SEC = 0.12;
const SAME_PITCH_SEMITONES = 0.6;

function source(name: string, durationSec: number): Take['source'] {
  return { file: `${name}.wav`, sha256: '0'.repeat(64), durationSec, sampleRate: RATE, channels: 1 };
}

function performances(songs: readonly Song[], seeds: number) {
  return songs.flatMap((song, s) =>
    Array.from({ length: seeds }, (_, seed) =>
      [true, false].map((oneVerse) => {
        const rng = seededRng(7919 * (s + 1) + 104729 * seed + (oneVerse ? 0 : 1));
        const lines = linesOf(song, oneVerse ? [1] : [1, 2, 3]);
        const style = STYLES[(s + seed + (oneVerse ? 0 : 1)) % STYLES.length];
        return { song, oneVerse, rng, performance: perform(song, lines, HARP, style, rng.fork('play')) };
      }),
    ).flat(),
  );
}

function noteAsPlayed({ note, start, beginSec, endSec, levelDb }: PlannedNote, i: number): Note {
  return {
    ...tabOf(note),
    id: `n${i + 1}`,
    onsetSec: beginSec,
    offsetSec: endSec,
    f0Hz: note.f0Hz,
    midi: note.midi,
    cents: 0,
    confidence: 0.95,
    alternatives: [],
    start,
    intonation: null,
    leak: null,
    levelDb,
    harmonicityDb: 20,
    flags: [],
  };
}

/** Each song played once through and three times through, `seeds` times each; the notes are those that were played. */
export function* plannedTakes(seeds: number, songs: readonly Song[] = SONGS): Generator<SongTake> {
  for (const { song, oneVerse, performance } of performances(songs, seeds)) {
    const notes = performance.plan.map(noteAsPlayed);
    const harp = { ...HARP, confidence: 1, alternatives: [] };
    const durationSec = (notes.at(-1)?.offsetSec ?? 0) + 1;
    const take = buildTake(source(song.name, durationSec), { harp, notes, phrases: findPhrases(notes) });
    yield { song, oneVerse, performance, take, heard: notes.map((_, i) => i) };
  }
}

/** The same, one in `every`, rendered, roughened and transcribed; the harp is told. */
export async function* heardTakes(every: number, songs: readonly Song[] = SONGS): AsyncGenerator<SongTake> {
  for (const [i, { song, oneVerse, performance, rng }] of performances(songs, 1).entries()) {
    if (i % every !== 0) continue;
    const { plan } = performance;
    const clean = renderTake(plan, randomTimbre(rng.fork('timbre')), RATE, rng.fork('render'));
    const truth = {
      audio: '',
      harp: truthHarp(HARP, playableNotes(HARP)),
      category: '',
      seed: 0,
      tab: '',
      tempoBpm: song.tempoBpm,
      degradation: {},
      talkSec: [],
      notes: truthNotes(clean, HARP.a4Hz),
    };
    const rough = roughened(
      { samples: clean.samples, sampleRate: RATE, truth },
      ROUGH[i % ROUGH.length],
      rng.fork('rough'),
    );
    const found = await transcribe(Samples.from(rough.samples, rough.sampleRate), { harp: HARP.key });
    const take = buildTake(source(song.name, rough.samples.length / rough.sampleRate), found);
    yield { song, oneVerse, performance, take, heard: matched(plan, found.notes) };
  }
}

function matched(plan: readonly PlannedNote[], notes: readonly Note[]): number[] {
  let from = 0;
  return plan.map(({ beginSec, note }) => {
    const at = notes.findIndex(
      ({ onsetSec, midi }, i) =>
        i >= from &&
        Math.abs(onsetSec - beginSec) <= SAME_ONSET_SEC &&
        Math.abs(midi - note.midi) < SAME_PITCH_SEMITONES,
    );
    if (at >= 0) from = at + 1;
    return at;
  });
}
