import { createHash } from 'node:crypto';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { findPlayable, playableNotes } from '../../src/harp/playable.ts';
import { findPhrases } from '../../src/music/phrases.ts';
import { soundTab } from '../../src/sound/tab-sound.ts';
import { encodeWav } from '../../src/sound/write-wav.ts';
import type { Note } from '../../src/tab/note.ts';
import type { TabNote } from '../../src/tab/tab-note.ts';
import { parseTabToken } from '../../src/tab/text.ts';
import { formatTake } from '../../src/take/format.ts';
import type { Take } from '../../src/take/schema.ts';
import { buildTake, type Findings } from '../../src/take/take.ts';

export const HARP = { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 } as const;
export const PLAYABLE = playableNotes(HARP);
export const tab = (text: string): TabNote => {
  const note = parseTabToken(text);
  if (note === undefined) throw new Error(`not tab: ${text}`);
  return note;
};

/** Everything sounds this much sharp, so that no dot of a drawn contour lies on the edge between two. */
const SHARP_CENTS = 12;
const RATE = 22_050;

/** A note that sounds as the C harp gives it. */
export function sounding(
  text: string,
  onsetSec: number,
  offsetSec: number,
  id: string,
  changes: Partial<Note> = {},
): Note {
  const played = tab(text);
  const target = findPlayable(PLAYABLE, played);
  if (target === undefined) throw new Error(`not on the harp: ${text}`);
  const f0Hz = target.f0Hz * 2 ** (SHARP_CENTS / 1200);
  return {
    id,
    onsetSec,
    offsetSec,
    f0Hz,
    midi: 69 + 12 * Math.log2(f0Hz / 440),
    ...played,
    cents: SHARP_CENTS,
    confidence: 0.97,
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

/** Lines of tab as notes: one every 0.4 s, half a second of rest after each line. */
export function notesOf(lines: readonly string[]): Note[] {
  const notes: Note[] = [];
  let atSec = 0.5;
  for (const line of lines) {
    for (const text of line.split(' ')) {
      notes.push(sounding(text, round(atSec), round(atSec + 0.34), `n${notes.length + 1}`));
      atSec += 0.4;
    }
    atSec += 0.5;
  }
  return notes;
}

export const round = (sec: number) => Math.round(sec * 10_000) / 10_000;

/** Writes a take and, unless told otherwise, a recording of `played` beside it; returns the path of the take. */
export function writeExample(
  folder: string,
  notes: readonly Note[],
  played: readonly Note[] | null = notes,
  phrases: Findings['phrases'] = findPhrases(notes),
): { path: string; take: Take } {
  const durationSec = round((notes.at(-1)?.offsetSec ?? 0) + 0.5);
  const sounds = (played ?? notes).map(({ onsetSec, offsetSec, f0Hz }) => ({ onsetSec, offsetSec, f0Hz }));
  const wav = encodeWav(soundTab(sounds, 0, durationSec, RATE), RATE, 16);
  if (played !== null) writeFileSync(join(folder, 'tune.wav'), wav);
  const source = {
    file: 'tune.wav',
    sha256: createHash('sha256').update(wav).digest('hex'),
    durationSec,
    sampleRate: RATE,
    channels: 1,
  };
  const take = buildTake(source, {
    harp: { ...HARP, confidence: 1, alternatives: [] },
    notes,
    phrases,
  });
  const path = join(folder, 'tune.take.json');
  writeFileSync(path, formatTake(take));
  return { path, take };
}
