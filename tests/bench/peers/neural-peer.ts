import { createHash } from 'node:crypto';
import { copyFileSync, existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { homedir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { playableNotes } from '../../../src/harp/playable.ts';
import { decodeWithFfmpeg, hasProgram, inTemporaryFolder, runProgram } from '../sets/external.ts';
import type { LabelledTake } from '../sets/takes.ts';
import { asNotes, type Peer, timed } from './peers.ts';

/*
 * The basic-pitch neural transcriber. It and the library it runs on are far larger than this project, so they are
 * installed into the user's cache folder when peers are asked for, and what it found in a recording is kept there.
 */

const PACKAGE = fileURLToPath(new URL('./basic-pitch/package.json', import.meta.url));
const RUNNER = fileURLToPath(new URL('./basic-pitch/run.mjs', import.meta.url));
const MODEL_RATE = 22050;
/** Its bends read one third of a semitone high on takes that are in tune (measured on clean takes). */
const BEND_BIAS_THIRDS = 1;

const cacheFolder = (): string =>
  join(process.env.XDG_CACHE_HOME ?? join(homedir(), '.cache'), 'reedtrace-bench');

/** The rows that the runner prints. */
type Row = readonly [onsetSec: number, offsetSec: number, midi: number, bendThirds: number];

interface Kept {
  readonly notes: readonly Row[];
  readonly cpuSec: number;
}

/**
 * @param install whether it may be fetched from the npm registry when it is not there yet
 * @returns the peer, or why there is none
 */
export function basicPitchPeer(install: boolean): Peer | string {
  if (!hasProgram('ffmpeg')) return 'basic-pitch left out: no ffmpeg';
  const folder = join(cacheFolder(), `peers-${digest(readFileSync(PACKAGE))}`);
  if (!existsSync(join(folder, 'node_modules', '@spotify', 'basic-pitch'))) {
    if (!install) return 'basic-pitch left out: not installed; npm run bench -- --peers does that';
    mkdirSync(folder, { recursive: true });
    copyFileSync(PACKAGE, join(folder, 'package.json'));
    try {
      runProgram('npm', ['install', '--ignore-scripts', '--no-audit', '--no-fund', '--prefix', folder]);
    } catch (error) {
      return `basic-pitch left out: ${(error as Error).message}`;
    }
  }
  return { name: 'basic-pitch', run: (take) => withBasicPitch(take, folder) };
}

const digest = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex').slice(0, 16);

function withBasicPitch(take: LabelledTake, folder: string): ReturnType<Peer['run']> {
  const { notes, cpuSec } = keptOrRun(take, folder);
  const spans = notes.map(([onsetSec, offsetSec, midi, bendThirds]) => ({
    onsetSec,
    offsetSec,
    f0Hz: 440 * 2 ** ((midi + (bendThirds - BEND_BIAS_THIRDS) / 3 - 69) / 12),
  }));
  return { notes: asNotes(spans, take), cpuSec };
}

/** Kept by what is in the recording, in the runner and in the range, so that any change runs it again. */
function keptOrRun(take: LabelledTake, folder: string): Kept {
  const pitches = playableNotes(take.harp).map((note) => note.f0Hz);
  const range = [Math.floor(Math.min(...pitches) * 0.9), Math.ceil(Math.max(...pitches) * 1.06)].map(String);
  const key = digest(
    Buffer.concat([readFileSync(take.path), readFileSync(RUNNER), Buffer.from(range.join())]),
  );
  const path = join(folder, 'found', `${key}.json`);
  if (existsSync(path)) return JSON.parse(readFileSync(path, 'utf8')) as Kept;
  const found = inTemporaryFolder((temporary): Kept => {
    const raw = join(temporary, 'samples.f32');
    writeFileSync(raw, new Uint8Array(decodeWithFfmpeg(take.path, MODEL_RATE).buffer));
    const { stdout, cpuSec } = timed([process.execPath, RUNNER, folder, raw, ...range]);
    return { notes: (JSON.parse(stdout) as Kept).notes, cpuSec };
  });
  mkdirSync(join(folder, 'found'), { recursive: true });
  writeFileSync(path, JSON.stringify(found));
  return found;
}
