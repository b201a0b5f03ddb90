import { existsSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { arrange } from '../../../src/arrange/arrange.ts';
import { tuneFromMelody } from '../../../src/arrange/tune.ts';
import { ADVICE_WEIGHTS } from '../../../src/check/advice/weights.ts';
import { referenceFromTake } from '../../../src/check/align/reference.ts';
import { collectBends } from '../../../src/check/bends/collect.ts';
import { summariseBends } from '../../../src/check/bends/summary.ts';
import { checkTake } from '../../../src/check/check-take.ts';
import { checkText } from '../../../src/cli/check/print.ts';
import { ReedtraceError } from '../../../src/errors.ts';
import { FORMATS, type FormatName } from '../../../src/export/formats.ts';
import { writeMidiFile } from '../../../src/export/midi.ts';
import { buildScore } from '../../../src/export/score.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import { findPhrases } from '../../../src/music/phrases.ts';
import { readAbc } from '../../../src/music/reading/abc/abc.ts';
import { readMidi } from '../../../src/music/reading/midi.ts';
import { readMusicXml } from '../../../src/music/reading/musicxml/musicxml.ts';
import { melodyFromTab } from '../../../src/music/reading/tab.ts';
import { soundTab } from '../../../src/sound/tab-sound.ts';
import { formatSheet } from '../../../src/tab/sheet.ts';
import { parseTab } from '../../../src/tab/text-file.ts';
import { setMusic } from '../../../src/take/edits/set-music.ts';
import { formatTake } from '../../../src/take/format.ts';
import { buildBeats, buildPhrases } from '../../../src/take/music.ts';
import { parseTake } from '../../../src/take/parse.ts';
import type { Take } from '../../../src/take/schema.ts';
import { reduce } from '../../../src/ui/commands/reduce.ts';
import { openState } from '../../../src/ui/state/state.ts';
import { screenLines } from '../../../src/ui/view/screen.ts';
import { longAbc, longMusicXml, longTab, longTake } from './long-tune.ts';

/** A piece of work on so many notes; what it needs is made before, and not counted. */
export interface Work {
  readonly command: string;
  prepare(notes: number): () => unknown;
}

const TOLERANCES = { bendCents: 20, timeSec: 0.05, leakDb: -20, strict: false };
const HARP = { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 };
/** The seed of a tune that has nothing to do with the others. */
const OTHER_TUNE = 77;
const SIZE = { columns: 80, rows: 24 };
const bytesOf = (text: string): Uint8Array => new TextEncoder().encode(text);

const takes = new Map<number, Take>();
/** A long take. Made once for all processes: whoever makes it says where they find it. */
export function takeOf(notes: number): Take {
  const file = takeFile(notes);
  const take =
    takes.get(notes) ?? (existsSync(file) ? JSON.parse(readFileSync(file, 'utf8')) : longTake(notes));
  takes.set(notes, take);
  return take;
}

/** Where a take of so many notes lies for the processes that need it. */
export function takeFile(notes: number): string {
  return join(process.env.REEDTRACE_GROWTH_TAKES ?? tmpdir(), `${notes}.take.json`);
}

/** Work on a take that is made before. */
function onTake(work: (take: Take) => unknown): Work['prepare'] {
  return (notes) => {
    const take = takeOf(notes);
    return () => work(take);
  };
}

function exporting(format: FormatName): Work {
  return {
    command: `export --as ${format}`,
    prepare: (notes) => {
      const take = takeOf(notes);
      return () =>
        FORMATS[format].write(buildScore(take, 'Long'), {
          style: 'signs',
          columns: 80,
          lengths: false,
          asPlayed: false,
        });
    },
  };
}

/** A take compared with the take of a teacher. */
function checking(command: string, teacherOf: (notes: number) => Take): Work {
  return {
    command,
    prepare: (n) => {
      const take = takeOf(n);
      const reference = referenceFromTake('teacher', teacherOf(n));
      const options = { tolerances: TOLERANCES, lines: undefined, weights: ADVICE_WEIGHTS };
      const report = {
        student: 'long',
        harp: take.harp,
        reference,
        recording: null,
        tolerances: TOLERANCES,
        weights: ADVICE_WEIGHTS,
        judgeBy: 'harp',
        changes: null,
        pass: null,
      } as const;
      return () => checkText({ ...report, checked: checkTake(take, reference, options) }, 80);
    },
  };
}

function pressing(keys: readonly string[], take: Take): void {
  let state = openState('long', take, {}, true, SIZE);
  for (const key of keys) ({ state } = reduce(state, { kind: 'key', key, at: '2026-01-01T00:00:00Z' }));
  screenLines(state);
}

/** What the commands do, each with notes of any number. */
export const WORK: readonly Work[] = [
  { command: 'transcribe: phrases', prepare: onTake((take) => findPhrases(take.notes)) },
  {
    command: 'transcribe: labels of phrases',
    prepare: onTake((take) => buildPhrases(take.notes, take.phrases)),
  },
  { command: 'transcribe: beats', prepare: onTake((take) => buildBeats(take.notes)) },
  {
    command: 'transcribe: sheet',
    prepare: onTake((take) => formatSheet(take, { style: 'signs', columns: 80 })),
  },
  { command: 'take: write', prepare: onTake(formatTake) },
  {
    command: 'take: read',
    prepare: (n) => {
      const text = formatTake(takeOf(n));
      return () => parseTake(text, 'long');
    },
  },
  ...(Object.keys(FORMATS) as FormatName[])
    .filter((format) => format !== 'svg' && format !== 'html')
    .map(exporting),
  {
    command: 'export --words',
    prepare: (n) => {
      const take = takeOf(n);
      const words = { text: 'la la la la\n'.repeat(n / 4), language: null };
      return () => setMusic(take, { beats: {}, words });
    },
  },
  {
    command: 'read tab',
    prepare: (n) => {
      const text = longTab(n);
      return () => melodyFromTab(parseTab(text), playableNotes(HARP), 'a C harp');
    },
  },
  {
    command: 'read ABC',
    prepare: (n) => {
      const bytes = bytesOf(longAbc(n));
      return () => readAbc(bytes, 'long.abc');
    },
  },
  {
    command: 'read MIDI',
    prepare: (n) => {
      const bytes = writeMidiFile(buildScore(takeOf(n), 'Long'), { asPlayed: false });
      return () => readMidi(bytes, 'long.mid');
    },
  },
  {
    command: 'read MusicXML',
    prepare: (n) => {
      const bytes = bytesOf(longMusicXml(n));
      return () => readMusicXml(bytes, 'long.musicxml');
    },
  },
  {
    command: 'read ABC of brackets',
    prepare: (n) => {
      const bytes = bytesOf(`X:1\nK:C\nC${'[{("!+<'.repeat(n / 4)}\n`);
      return () => {
        try {
          return readAbc(bytes, 'long.abc');
        } catch (error) {
          // Nothing of it is a note: what counts is how long it takes to say so.
          if (error instanceof ReedtraceError) return null;
          throw error;
        }
      };
    },
  },
  {
    command: 'arrange',
    prepare: (n) => {
      const melody = readAbc(bytesOf(longAbc(n)), 'long.abc');
      return () => arrange(tuneFromMelody(melody));
    },
  },
  checking('check: a take with itself', takeOf),
  checking('check: with a wrong tune', (n) => longTake(n, OTHER_TUNE)),
  {
    command: 'bends',
    prepare: onTake((take) => summariseBends(collectBends([{ name: 'long', take, date: null }]).bends, 20)),
  },
  {
    command: 'play',
    prepare: (n) => {
      const notes = takeOf(n).notes;
      // A thousand samples a second: what grows is the number of notes, not the sound of each.
      return () => soundTab(notes, 0, notes[notes.length - 1].offsetSec, 1_000);
    },
  },
  { command: 'correct: open and draw', prepare: onTake((take) => pressing([], take)) },
  {
    command: 'correct: ten keys',
    prepare: onTake((take) => pressing([...'lljhllllll'], take)),
  },
];
