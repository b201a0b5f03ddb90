import { ReedtraceError } from '../../errors.ts';
import { findPlayable } from '../../harp/playable.ts';
import type { PlayableNote } from '../../harp/types.ts';
import { bendOn, onHoles, sameWritten, type TabNote } from '../../tab/tab-note.ts';
import type { TabText } from '../../tab/text-file.ts';
import type { Melody, MelodyNote } from '../melody.ts';
import { chordOnHarp } from './chord.ts';

/** A melody, and where each of its notes is played. */
export interface TabMelody {
  readonly melody: Melody;
  /** One per note of the melody. */
  readonly tab: readonly TabNote[];
}

/**
 * The melody of a tab on a harp. Notes and rests without a length last one beat; `~` before a repeated note is a tie and
 * joins the two.
 * @param harp  all notes of the harp
 * @param harpName  what to call it in an error
 * @throws ReedtraceError E_TAB_INVALID with line and column of a note that the harp does not have
 */
export function melodyFromTab(text: TabText, harp: readonly PlayableNote[], harpName: string): TabMelody {
  const notes: MelodyNote[] = [];
  const tab: TabNote[] = [];
  const lineStarts: number[] = [];
  let atBeats = 0;
  let anyLength = false;
  for (const phrase of text.phrases) {
    lineStarts.push(notes.length);
    for (const item of phrase) {
      if (item.kind === 'bar') continue;
      const durationBeats = item.beats ?? 1;
      anyLength ||= item.beats !== null;
      if (item.kind === 'note') {
        const playable = findPlayable(harp, item.note);
        if (!playable) throw notOnHarp(item.line, item.column, item.note, harpName);
        const missing = item.note.holes?.find((hole) => !findPlayable(harp, onHole(item.note, hole)));
        if (missing !== undefined)
          throw notOnHarp(item.line, item.column, onHole(item.note, missing), harpName);
        const last = notes[notes.length - 1];
        const before = tab[tab.length - 1];
        if (item.slurred && before && sameWritten(before, item.note)) {
          notes[notes.length - 1] = { ...last, durationBeats: atBeats + durationBeats - last.onsetBeats };
        } else {
          notes.push({
            midi: playable.midi,
            onsetBeats: atBeats,
            durationBeats,
            ...chordOnHarp(item.note, harp),
          });
          tab.push(item.note);
        }
      }
      atBeats += durationBeats;
    }
  }
  return {
    melody: {
      notes,
      title: null,
      beatsPerMinute: null,
      metre: null,
      tonic: null,
      lineStarts: [
        0,
        ...lineStarts.filter((start, i) => i > 0 && start > lineStarts[i - 1] && start < notes.length),
      ],
      remarks: [
        ...(anyLength ? [] : ['the tab gives no note lengths: every note counts as one beat']),
        ...(text.words.length === 0 ? [] : [`read as words, not tab: ${linesInWords(text.words)}`]),
      ],
    },
    tab,
  };
}

const onHole = (note: TabNote, hole: number): TabNote =>
  onHoles(note, [hole], (which) => bendOn(note, which));

function linesInWords(words: TabText['words']): string {
  return `line${words.length === 1 ? '' : 's'} ${words.map(({ line }) => line).join(', ')}`;
}

function notOnHarp(line: number, column: number, note: TabNote, harpName: string): ReedtraceError {
  const technique = note.over
    ? note.breath === 'blow'
      ? 'overblow'
      : 'overdraw'
    : `${note.breath} bend of ${note.bend} ${note.bend === 1 ? 'semitone' : 'semitones'}`;
  return new ReedtraceError(
    'E_TAB_INVALID',
    `line ${line}, column ${column}: ${harpName} has no ${technique} on hole ${note.hole}`,
    'check the note, or name the right tuning with --tuning (`reedtrace harp` shows what each hole gives)',
  );
}
