/**
 * The same sound in other formats: the same harp, the same notes?
 *   npx tsx tests/bench/measures/codecs.ts FOLDER…
 * Every recording of the folders is written as WAV of 44.1 kHz and, by ffmpeg, as the formats below, and each is transcribed with
 * nothing given. A note counts as the same when hole, breath, bend and over are, and its onset lies within 50 ms.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { extname, join } from 'node:path';
import { readRecording } from '../../../src/audio/read.ts';
import { type Transcription, transcribe } from '../../../src/pipeline.ts';
import { median } from '../../../src/statistics.ts';
import { matchNotes, sameTab } from '../scores/metrics.ts';
import { textTable } from '../scores/table.ts';

/** How each format is written; common settings of phones and recorders. */
const FORMATS: Readonly<Record<string, readonly string[]>> = {
  'm4a (AAC 128 kb/s)': ['-c:a', 'aac', '-b:a', '128k', '-f', 'ipod'],
  'm4a (AAC 64 kb/s)': ['-c:a', 'aac', '-b:a', '64k', '-f', 'ipod'],
  'mp3 (128 kb/s)': ['-c:a', 'libmp3lame', '-b:a', '128k', '-f', 'mp3'],
  'ogg (Vorbis q5)': ['-c:a', 'libvorbis', '-q:a', '5', '-f', 'ogg'],
  'opus (64 kb/s)': ['-c:a', 'libopus', '-b:a', '64k', '-f', 'ogg'],
};
const AUDIO = new Set(['.wav', '.flac']);

interface Compared {
  readonly takes: number;
  readonly sameHarp: number;
  readonly notes: number;
  readonly found: number;
  readonly same: number;
  readonly lateMs: number[];
}

async function heard(path: string): Promise<Transcription | null> {
  const { samples } = await readRecording(path);
  return transcribe(samples).catch(() => null);
}

function write(from: string, to: string, how: readonly string[]): void {
  const { status, stderr } = spawnSync('ffmpeg', [
    '-y',
    '-loglevel',
    'error',
    '-i',
    from,
    '-ac',
    '1',
    ...how,
    to,
  ]);
  if (status !== 0) throw new Error(`ffmpeg: ${stderr}`);
}

function compare(before: Compared, original: Transcription | null, copy: Transcription | null): Compared {
  const [one, other] = [original?.notes ?? [], copy?.notes ?? []];
  const pairs = matchNotes(one, other, { offsetRatio: null });
  return {
    takes: before.takes + 1,
    sameHarp:
      before.sameHarp +
      Number(original?.harp.key === copy?.harp.key && original?.harp.tuning === copy?.harp.tuning),
    // Added notes count as those left out do.
    notes: before.notes + Math.max(one.length, other.length),
    found: before.found + pairs.length,
    same: before.same + pairs.filter(([a, b]) => sameTab(one[a], other[b])).length,
    lateMs: [...before.lateMs, ...pairs.map(([a, b]) => 1000 * (other[b].onsetSec - one[a].onsetSec))],
  };
}

const folder = mkdtempSync(join(tmpdir(), 'reedtrace-codecs-'));
const sums = new Map<string, Compared>();
const worst: string[] = [];
try {
  const paths = process.argv
    .slice(2)
    .flatMap((from) =>
      readdirSync(from)
        .sort()
        .map((name) => join(from, name)),
    )
    .filter((path) => AUDIO.has(extname(path)));
  for (const path of paths) {
    const wav = join(folder, 'sound.wav');
    write(path, wav, ['-ar', '44100', '-c:a', 'pcm_s16le']);
    const original = await heard(wav);
    for (const [name, how] of Object.entries(FORMATS)) {
      const copy = join(folder, 'sound.copy');
      write(wav, copy, how);
      const nothing: Compared = { takes: 0, sameHarp: 0, notes: 0, found: 0, same: 0, lateMs: [] };
      const told = await heard(copy);
      const here = compare(nothing, original, told);
      if (here.same < here.notes)
        worst.push(
          `${path} ${name}: ${here.same} of ${here.notes}, harp ${original?.harp.key ?? '-'} and ${told?.harp.key ?? '-'}`,
        );
      sums.set(name, compare(sums.get(name) ?? nothing, original, told));
    }
  }
} finally {
  rmSync(folder, { recursive: true });
}
console.log(
  textTable([
    ['format', 'takes', 'same harp', 'notes', 'same pitch and onset', 'same tab', 'later by, ms'],
    ...[...sums].map(([name, { takes, sameHarp, notes, found, same, lateMs }]) => [
      name,
      String(takes),
      String(sameHarp),
      String(notes),
      `${((100 * found) / notes).toFixed(1)} %`,
      `${((100 * same) / notes).toFixed(1)} %`,
      median(lateMs).toFixed(1),
    ]),
  ]),
);
console.log(`\nNot all the same\n${worst.join('\n')}`);
