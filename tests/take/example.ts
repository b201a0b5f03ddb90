import type { Note } from '../../src/tab/note.ts';
import { parseTabToken } from '../../src/tab/text.ts';
import type { Findings } from '../../src/take/take.ts';

/** A note from its tab in signs, e.g. `-3''`, with plain values for all that a test doesn't care about. */
export function exampleNote(tab: string, onsetSec: number, id: string, changes: Partial<Note> = {}): Note {
  const played = parseTabToken(tab);
  if (!played) throw new Error(`not tab: ${tab}`);
  return {
    id,
    onsetSec,
    offsetSec: onsetSec + 0.3,
    f0Hz: 440,
    midi: 69,
    ...played,
    cents: 0,
    confidence: 0.96,
    alternatives: [],
    start: 'breath',
    intonation: { steadinessCents: 2, driftCentsPerSec: 0, scoopCents: 0, scoopSec: 0 },
    leak: null,
    levelDb: -18,
    harmonicityDb: 22,
    flags: [],
    ...changes,
  };
}

/** Phrases of notes from lines of tab in signs; a note every 0.4 s, a second between phrases. */
export function exampleFindings(
  lines: readonly string[],
  changes: Readonly<Record<string, Partial<Note>>> = {},
): Findings {
  const notes: Note[] = [];
  const phrases: { firstNote: number; lastNote: number }[] = [];
  let atSec = 0.5;
  for (const line of lines) {
    const firstNote = notes.length;
    for (const tab of line.split(' ')) {
      const id = `n${notes.length + 1}`;
      notes.push(exampleNote(tab, Number(atSec.toFixed(3)), id, changes[id]));
      atSec += 0.4;
    }
    phrases.push({ firstNote, lastNote: notes.length - 1 });
    atSec += 1;
  }
  return {
    harp: { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440, confidence: 1, alternatives: [] },
    notes,
    phrases,
  };
}

export const EXAMPLE_SOURCE = {
  file: 'take.wav',
  sha256: 'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855',
  durationSec: 31.2,
  sampleRate: 44100,
  channels: 1,
};
