<<<<<<< HEAD
import { writeMidi } from 'midi-file';
import { arrange } from '../../../src/arrange/arrange.ts';
import { tuneFromMelody } from '../../../src/arrange/tune.ts';
import { ADVICE_WEIGHTS } from '../../../src/check/advice/weights.ts';
import { referenceFromTake } from '../../../src/check/align/reference.ts';
import { collectBends } from '../../../src/check/bends/collect.ts';
import { summariseBends } from '../../../src/check/bends/summary.ts';
import { checkTake } from '../../../src/check/check-take.ts';
import { checkText } from '../../../src/cli/check/print.ts';
import { FORMATS, type FormatName } from '../../../src/export/formats.ts';
import { buildScore } from '../../../src/export/score.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import { findPhrases } from '../../../src/music/phrases.ts';
import { readAbc } from '../../../src/music/reading/abc/abc.ts';
import { readMidi } from '../../../src/music/reading/midi.ts';
import { readMusicXml } from '../../../src/music/reading/musicxml.ts';
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
interface Work {
  readonly command: string;
  prepare(notes: number): () => unknown;
}

const TOLERANCES = { bendCents: 20, timeSec: 0.05, leakDb: -20, strict: false };
const HARP = { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 };
const SIZE = { columns: 80, rows: 24 };
const bytesOf = (text: string): Uint8Array => new TextEncoder().encode(text);

const takes = new Map<string, Take>();
function takeOf(notes: number, seed = 1): Take {
  const known = takes.get(`${notes} ${seed}`) ?? longTake(notes, seed);
  takes.set(`${notes} ${seed}`, known);
  return known;
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

function longMidi(notes: number): Uint8Array {
  const events = takeOf(notes).notes.flatMap(({ midi }) => {
    const common = { channel: 0, noteNumber: Math.round(midi), velocity: 80 } as const;
    return [
      { ...common, type: 'noteOn', deltaTime: 0 } as const,
      { ...common, type: 'noteOff', deltaTime: 240 } as const,
    ];
  });
  const end = { type: 'endOfTrack', deltaTime: 0, meta: true } as const;
  return Uint8Array.from(
    writeMidi({ header: { format: 0, numTracks: 1, ticksPerBeat: 480 }, tracks: [[...events, end]] }),
  );
}

function pressing(keys: readonly string[], take: Take): void {
  let state = openState('long', take, {}, true, SIZE);
  for (const key of keys) ({ state } = reduce(state, { kind: 'key', key, at: '2026-01-01T00:00:00Z' }));
  screenLines(state);
}

const WORK: readonly Work[] = [
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
      const bytes = longMidi(n);
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
      return () => readAbc(bytes, 'long.abc');
    },
  },
  {
    command: 'arrange',
    prepare: (n) => {
      const melody = readAbc(bytesOf(longAbc(n)), 'long.abc');
      return () => arrange(tuneFromMelody(melody));
    },
  },
  {
    command: 'check',
    prepare: (n) => {
      const take = takeOf(n);
      const reference = referenceFromTake('teacher', takeOf(n));
      const options = { tolerances: TOLERANCES, lines: undefined, weights: ADVICE_WEIGHTS };
      const report = {
        student: 'long',
        harp: take.harp,
        reference,
        tolerances: TOLERANCES,
        weights: ADVICE_WEIGHTS,
        judgeBy: 'harp',
        changes: null,
        pass: null,
      } as const;
      return () => checkText({ ...report, checked: checkTake(take, reference, options) }, 80);
    },
  },
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
=======
import { fork } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { takeFile, takeOf, WORK, type Work } from './growth-work.ts';
>>>>>>> cda5d3c (Say when the title comes from the file's name; no words of --title in reports; short messages; lesson and arrange tried on full disks)

/**
 * How work grows with the notes: `npm run bench:growth -- 100000 check` doubles the input of every command whose name has
 * the second word in it, up to the first, each in a process of its own. Prints the exponents of processor time and memory.
 */
const FEWEST = 3_125;
const MOST = 100_000;
/** A work that took so long is not doubled again. Seconds. */
const LONG_ENOUGH = 20;
/** Below these the clock, the compiler and the garbage tell more than the growth. */
const TELLING = { sec: 0.25, bytes: 20e6 };

interface Measured {
  readonly notes: number;
  /** Processor time. */
  readonly sec: number;
  /** By which the process grew beyond what it was before the work, at the most. */
  readonly bytes: number;
}

const sizes = (most: number): number[] =>
  Array.from({ length: 1 + Math.floor(Math.log2(most / FEWEST)) }, (_, n) => FEWEST * 2 ** n);

/** Measures one work in this process: the most memory so far is that of the last, as each is twice the one before. */
async function measure({ prepare }: Work, most: number): Promise<Measured[]> {
  const measured: Measured[] = [];
  for (const notes of sizes(most)) {
    const work = prepare(notes);
    if (notes === FEWEST) await work();
    const before = process.memoryUsage.rss();
    const begun = process.cpuUsage();
    await work();
    const { user, system } = process.cpuUsage(begun);
    const peakBytes = process.resourceUsage().maxRSS * 1024;
    measured.push({ notes, sec: (user + system) / 1e6, bytes: Math.max(0, peakBytes - before) });
    if (measured[measured.length - 1].sec > LONG_ENOUGH) break;
  }
  return measured;
}

/** In a process of its own. */
function measureApart(index: number, most: number): Promise<Measured[]> {
  return new Promise((done, failed) => {
    const child = fork(fileURLToPath(import.meta.url), [String(most), '--work', String(index)]);
    child.on('message', (measured) => done(measured as Measured[]));
    child.on('exit', (code, signal) => failed(new Error(`ended with ${signal ?? code}`)));
  });
}

/** Least squares through the logarithms; null when too little can be told. */
function exponentOf(measured: readonly Measured[], of: 'sec' | 'bytes'): number | null {
  const points = measured
    .filter((one) => one[of] >= TELLING[of])
    .map((one) => [Math.log(one.notes), Math.log(one[of])]);
  if (points.length < 2) return null;
  const [meanX, meanY] = [0, 1].map((k) => points.reduce((sum, point) => sum + point[k], 0) / points.length);
  const over = points.reduce((sum, [x, y]) => sum + (x - meanX) * (y - meanY), 0);
  return over / points.reduce((sum, [x]) => sum + (x - meanX) ** 2, 0);
}

function line(command: string, measured: readonly Measured[]): string {
  const last = measured[measured.length - 1];
  const shown = [exponentOf(measured, 'sec'), exponentOf(measured, 'bytes')].map((exponent) =>
    (exponent === null ? '-' : exponent.toFixed(2)).padStart(6),
  );
  const most = [last.notes, last.sec.toFixed(2), Math.round(last.bytes / 1e6)];
  return `${command.padEnd(32)}${shown.join('')}${most.map((value) => String(value).padStart(9)).join('')}`;
}

const [most = String(MOST), only = '', index] = process.argv.slice(2);
if (only === '--work') {
  process.send?.(await measure(WORK[Number(index)], Number(most)));
  process.disconnect();
} else {
  process.env.REEDTRACE_GROWTH_TAKES = mkdtempSync(join(tmpdir(), 'reedtrace-growth-'));
  for (const notes of sizes(Number(most))) writeFileSync(takeFile(notes), JSON.stringify(takeOf(notes)));
  process.stdout.write(`${'command'.padEnd(32)}  time  room    notes  seconds       MB\n`);
  for (const [n, { command }] of WORK.entries()) {
    if (!command.includes(only)) continue;
    const measured = await measureApart(n, Number(most)).catch((error: unknown) => String(error));
    process.stdout.write(
      `${typeof measured === 'string' ? `${command}: ${measured}` : line(command, measured)}\n`,
    );
  }
  rmSync(process.env.REEDTRACE_GROWTH_TAKES, { recursive: true });
}
