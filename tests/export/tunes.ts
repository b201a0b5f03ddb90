import { parseTune } from '../../samples/synth/tune.ts';
import { TUNES, type TuneName } from '../../samples/tunes.ts';
import { findPlayable, playableNotes } from '../../src/harp/playable.ts';
import { alignWords } from '../../src/music/words/underlay.ts';
import { parseVerses } from '../../src/music/words/verses.ts';
import type { Note } from '../../src/tab/note.ts';
import { buildWords } from '../../src/take/music.ts';
import type { Take } from '../../src/take/schema.ts';
import { buildTake } from '../../src/take/take.ts';
import { EXAMPLE_SOURCE } from '../take/example.ts';

/** Seconds of breath at the end of a phrase, and the share of its length that a note sounds before it. */
const BREATH_SEC = 0.25;
const SOUNDED = 0.88;

/** A traditional tune (public domain) as played in strict time on a harp, with its score lengths beside it. */
export function playTune(
  name: TuneName,
  key = 'C',
  bpm = 96,
): { take: Take; beats: number[]; midi: number[] } {
  const harp = { key, tuning: 'richter', temperament: 'equal', a4Hz: 440 };
  const playable = playableNotes(harp);
  const notes: Note[] = [];
  const phrases: { firstNote: number; lastNote: number }[] = [];
  const beats: number[] = [];
  let at = 0.5;
  let firstNote = 0;
  const endPhrase = () => {
    if (notes.length === firstNote) return;
    const last = notes[notes.length - 1];
    notes[notes.length - 1] = {
      ...last,
      offsetSec: last.onsetSec + SOUNDED * (last.offsetSec - last.onsetSec),
    };
    phrases.push({ firstNote, lastNote: notes.length - 1 });
    firstNote = notes.length;
    at += BREATH_SEC;
  };
  for (const step of parseTune(TUNES[name])) {
    if (step.kind === 'phrase') endPhrase();
    else if (step.kind === 'rest') at += (step.beats * 60) / bpm;
    else {
      const target = findPlayable(playable, step)!;
      const sec = (step.beats * 60) / bpm;
      notes.push({
        id: `n${notes.length + 1}`,
        onsetSec: Number(at.toFixed(4)),
        offsetSec: Number((at + sec).toFixed(4)),
        f0Hz: target.f0Hz,
        midi: target.midi,
        hole: step.hole,
        breath: step.breath,
        bend: step.bend,
        over: step.over,
        cents: 0,
        confidence: 0.95,
        alternatives: [],
        start: notes.length === 0 ? 'silence' : 'breath',
        intonation: { steadinessCents: 2, driftCentsPerSec: 0, scoopCents: 0, scoopSec: 0 },
        leak: null,
        levelDb: -18,
        harmonicityDb: 22,
        flags: [],
      });
      beats.push(step.beats);
      at += sec;
    }
  }
  endPhrase();
  const take = buildTake(
    { ...EXAMPLE_SOURCE, file: `${name}.wav`, durationSec: at },
    { harp: { ...harp, confidence: 1, alternatives: [] }, notes, phrases },
  );
  return { take, beats, midi: notes.map((note) => note.midi) };
}

/** First verses (traditional, public domain), syllables by hand. */
export const AMAZING_GRACE = `A-ma-zing_ grace, how sweet the sound
that saved_ a wretch like me.
I once_ was lost, but now am found,
was blind_, but now I see.

'Twas grace_ that taught my heart to fear,
and grace_ my fears re-lieved;
how pre-_cious did that grace ap-pear
the hour_ I first be-lieved.`;

/** The same take with words. */
export function withWords(take: Take, text: string): Take {
  return {
    ...take,
    words: buildWords(take.notes, alignWords(parseVerses(text, null), take.notes, take.phrases)),
  };
}
