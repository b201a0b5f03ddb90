/**
 * Makes lessons of the twelve songs in `songs/songs.ts` as a teacher would, with the built command line:
 *   npx tsx tests/bench/lessons/make.ts FOLDER [--only NAME]
 * Each gets a folder with two recordings (at tempo; slow), their takes with words, a text file with order, titles and notes,
 * and from `reedtrace lesson` the page and the PDF, with the easier way where there is one.
 */
import { spawnSync } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { renderTake } from '../../../samples/synth/render.ts';
import { seededRng } from '../../../samples/synth/rng.ts';
import { BALLAD, CLEAN, EVERYDAY, type PlayingStyle } from '../../../samples/synth/style.ts';
import { randomTimbre } from '../../../samples/synth/timbre.ts';
import { encodeWav } from '../../../src/sound/write-wav.ts';
import { linesOf, perform } from '../songs/perform.ts';
import { SONGS, type Song } from '../songs/songs.ts';
import { wordsFile } from '../songs/table.ts';

const RATE = 22_050;
const SLOW = 0.6;
const KEYS = ['C', 'G', 'A', 'D', 'F', 'Bb'];
const STYLES: readonly PlayingStyle[] = [CLEAN, EVERYDAY, BALLAD];

const { values, positionals } = parseArgs({ allowPositionals: true, options: { only: { type: 'string' } } });
const [folder] = positionals;
if (folder === undefined) throw new Error('say where: npx tsx tests/bench/lessons/make.ts FOLDER');

for (const [place, song] of SONGS.entries()) {
  if (values.only !== undefined && values.only !== song.name) continue;
  const began = performance.now();
  const said = makeLesson(song, place, join(folder, song.name));
  console.log(`${song.name}: ${((performance.now() - began) / 1000).toFixed(1)} s${said}`);
}

/** @returns what the commands remarked */
function makeLesson(song: Song, place: number, into: string): string {
  mkdirSync(into, { recursive: true });
  const key = KEYS[place % KEYS.length];
  record(song, key, place, join(into, 'tune.wav'));
  record({ ...song, tempoBpm: SLOW * song.tempoBpm }, key, place + 100, join(into, 'slow.wav'));
  writeFileSync(join(into, 'words.txt'), wordsFile(song, [1, 2, 3], true, 2));
  const title = titleOf(song.name);
  writeFileSync(
    join(into, 'lesson.txt'),
    `# ${title}\n\ntune.take.json: ${title}\n  1: breathe before the first note, from low down\n  last: let the last note ring, and don't hurry to it\nslow.take.json: ${title}, slowly\n`.replace(
      'last:',
      `${song.verse.length + (song.refrain?.tune.length ?? 0)}:`,
    ),
  );
  const words = ['--words', join(into, 'words.txt'), '--metre', `${song.metre.count}/${song.metre.unit}`];
  return [
    reedtrace(
      'transcribe',
      join(into, 'tune.wav'),
      join(into, 'slow.wav'),
      '--harp',
      key,
      '--force',
      ...words,
    ),
    reedtrace('lesson', into, '--easier', '--by', 'traditional', '--force', '--paper', 'a4'),
  ].join('');
}

function record(song: Song, key: string, seed: number, path: string): void {
  const rng = seededRng(15_485_863 * (seed + 1));
  const harp = { key, tuning: 'richter', temperament: 'equal', a4Hz: 440 } as const;
  const { plan } = perform(song, linesOf(song, [1]), harp, STYLES[seed % STYLES.length], rng.fork('play'));
  const { samples } = renderTake(plan, randomTimbre(rng.fork('timbre')), RATE, rng.fork('render'));
  writeFileSync(path, encodeWav(samples, RATE, 16));
}

function reedtrace(...argv: string[]): string {
  const { status, stderr } = spawnSync(process.execPath, ['bin/reedtrace.js', ...argv], { encoding: 'utf8' });
  if (status !== 0) throw new Error(`reedtrace ${argv.join(' ')}: ${stderr}`);
  const remarks = stderr.split('\n').filter((line) => line.startsWith('remark: '));
  return remarks.map((line) => `\n  ${line}`).join('');
}

/** `my-bonnie` is `My Bonnie`. */
function titleOf(name: string): string {
  return name.replaceAll('-', ' ').replace(/\b\p{L}/gu, (letter) => letter.toUpperCase());
}
