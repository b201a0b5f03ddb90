import { findPlayable, playableNotes } from '../harp/playable.ts';
import type { PlayableNote } from '../harp/types.ts';
import type { Melody } from '../music/melody.ts';
import type { Note } from '../tab/note.ts';
import { sameTab, type TabNote } from '../tab/tab-note.ts';
import { formatTabNote, type TabStyle } from '../tab/text.ts';
import type { Take, TakeSource, TakeSyllable } from '../take/schema.ts';
import { buildTake } from '../take/take.ts';
import { counted } from '../text/counted.ts';
import { ISO_A4_HZ } from '../units.ts';
import type { Candidate } from './arrange.ts';
import type { Tune } from './tune.ts';

/** Level of every note of a take that was never recorded. */
const EVEN_LEVEL_DB = -18;
const CLEAN_DB = 30;

/**
 * Turns an arrangement into a take, which can be exported like any other.
 * @param from  the take that the tune was read from; null for a tune from a file of notes
 */
export function arrangedTake(
  { harp, layout, laid, transposeSemitones, octaveShift }: Candidate,
  tune: Tune,
  melody: Melody,
  from: Take | null,
  name: string,
): Take {
  const spec = {
    key: harp.key,
    tuning: layout.id,
    temperament: from?.harp.temperament ?? 'equal',
    a4Hz: from?.harp.a4Hz ?? ISO_A4_HZ,
  };
  const notesOfHarp = playableNotes(spec, { layout });
  const kept: number[] = [];
  const notes: Note[] = [];
  for (const [i, choice] of laid.choices.entries()) {
    const target = choice === null ? undefined : findPlayable(notesOfHarp, choice.note);
    if (target === undefined) continue;
    kept.push(i);
    notes.push(noteOf(target, from?.notes[i] ?? null, i, tune, melody));
  }
  const at = new Map(kept.map((index, place) => [index, place]));
  const sameSound = transposeSemitones === 0 && octaveShift === 0;
  const source: TakeSource =
    from !== null && sameSound
      ? from.source
      : {
          file: `${name} (tab)`,
          sha256: '',
          durationSec: notes[notes.length - 1]?.offsetSec ?? 0,
          sampleRate: from?.source.sampleRate ?? 44_100,
          channels: 1,
        };
  const take = buildTake(source, {
    harp: { ...spec, confidence: 1, alternatives: [] },
    notes,
    phrases: phrasesOf(tune, at),
  });
  const ids = new Set(notes.map(({ id }) => id));
  return {
    ...take,
    ...(from === null ? {} : { beats: from.beats }),
    words:
      from === null
        ? wordsOf(melody, kept, notes)
        : from.words.map((word) =>
            word.noteId !== null && !ids.has(word.noteId) ? { ...word, noteId: null } : word,
          ),
  };
}

function noteOf(target: PlayableNote, played: Note | null, i: number, tune: Tune, melody: Melody): Note {
  const secPerBeat = 60 / (melody.beatsPerMinute ?? 100);
  const { onsetBeats } = melody.notes[i];
  return {
    id: played?.id ?? `n${i + 1}`,
    onsetSec: played?.onsetSec ?? onsetBeats * secPerBeat,
    offsetSec: played?.offsetSec ?? onsetBeats * secPerBeat + tune.notes[i].durationSec,
    f0Hz: target.f0Hz,
    midi: target.midi,
    hole: target.hole,
    breath: target.breath,
    bend: target.bend,
    over: target.over,
    cents: 0,
    confidence: 1,
    alternatives: [],
    start: played?.start ?? 'breath',
    intonation: null,
    leak: null,
    levelDb: EVEN_LEVEL_DB,
    harmonicityDb: CLEAN_DB,
    flags: [],
  };
}

function phrasesOf(
  { lineStarts, notes }: Tune,
  at: ReadonlyMap<number, number>,
): { firstNote: number; lastNote: number }[] {
  return lineStarts.flatMap((start, line) => {
    const end = lineStarts[line + 1] ?? notes.length;
    const inside = Array.from({ length: end - start }, (_, i) => at.get(start + i)).filter(
      (place) => place !== undefined,
    );
    return inside.length === 0 ? [] : [{ firstNote: inside[0], lastNote: inside[inside.length - 1] }];
  });
}

/** Words of a tune file: `half-` continues in the next syllable. */
function wordsOf(melody: Melody, kept: readonly number[], notes: readonly Note[]): TakeSyllable[] {
  let inWord = false;
  return kept.flatMap((index, place) => {
    const word = melody.notes[index].word?.trim();
    if (word === undefined || word === '') return [];
    const goesOn = word.endsWith('-') && word.length > 1;
    const syllabic = inWord ? (goesOn ? 'middle' : 'end') : goesOn ? 'begin' : 'single';
    inWord = goesOn;
    const text = goesOn ? word.slice(0, -1) : word;
    return [{ verse: 1, text, syllabic, noteId: notes[place].id, holds: 0 } as const];
  });
}

/** At most this many kinds of change are listed one by one. */
const MOST_TOLD = 6;

/**
 * How an arrangement differs from what is played today, in words: "-3'' becomes 3 (4 of 32 notes change, nothing
 * else)".
 * @param today  how each note is played now
 */
export function changesInWords(
  { harp, layout, laid }: Candidate,
  today: readonly TabNote[],
  now: { readonly key: string; readonly tuning: string },
  style: TabStyle,
): string {
  const kinds = new Map<string, number>();
  let changed = 0;
  for (const [i, choice] of laid.choices.entries()) {
    if (choice !== null && sameTab(choice.note, today[i])) continue;
    changed++;
    const before = formatTabNote(today[i], style);
    const after = choice === null ? 'left out' : formatTabNote(choice.note, style);
    const kind = choice === null ? `${before} is left out` : `${before} becomes ${after}`;
    kinds.set(kind, (kinds.get(kind) ?? 0) + 1);
  }
  const other =
    harp.key === now.key && layout.id === now.tuning ? '' : ` on the ${harp.key} harp, ${layout.name}`;
  const total = today.length;
  if (changed === 0)
    return total === 1
      ? `the one note stays where it is${other}`
      : `all ${total} notes stay where they are${other}`;
  const told = [...kinds].sort((a, b) => b[1] - a[1]).slice(0, MOST_TOLD);
  const more = kinds.size - told.length;
  const list = told.map(([kind, count]) => (count === 1 ? kind : `${kind} (${count} times)`)).join(', ');
  const rest =
    changed === total ? 'all notes change' : `${changed} of ${counted(total, 'note')} change, nothing else`;
  return `${list}${more > 0 ? ` and ${more} more` : ''}${other}: ${rest}`;
}
