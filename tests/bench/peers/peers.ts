import { spawnSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { PitchDetector } from 'pitchy';
import { playableNotes } from '../../../src/harp/playable.ts';
import type { PlayableNote } from '../../../src/harp/types.ts';
import { centsBetween } from '../../../src/units.ts';
import type { EstimatedNote } from '../scores/measure.ts';
import { decodeWithFfmpeg, hasProgram, inTemporaryFolder, runProgram } from '../sets/external.ts';
import type { LabelledTake } from '../sets/takes.ts';

/**
 * General-purpose trackers from the system and npm (development only), with their pitches mapped to holes in the same
 * way.
 */
export interface Peer {
  readonly name: string;
  /** Notes and the CPU time that it took, start-up included. */
  run(take: LabelledTake): { readonly notes: readonly EstimatedNote[]; readonly cpuSec: number };
}

/** A pitch track, one value every `hopSec`; 0 Hz is unvoiced. */
export interface PitchTrack {
  readonly firstSec: number;
  readonly hopSec: number;
  readonly hz: readonly number[];
  readonly levelDb: readonly number[];
}

/** aubionotes reports notes this late at 44.1 kHz (its buffers; measured on takes of known onsets). */
const AUBIO_DELAY_SEC = 0.045;
const SHORTEST_SEC = 0.06;
/** Careful cuts: a move of the pitch away from the note so far, and a dip of the level. */
const MOVE_CENTS = 60;
const DIP_DB = 6;

/** Every peer that is installed here. */
export function installedPeers(): Peer[] {
  const peers: Peer[] = [];
  if (hasProgram('praat') && hasProgram('ffmpeg')) {
    peers.push(
      { name: 'praat, plain cuts', run: (take) => withPraat(take, plainCuts) },
      { name: 'praat, careful cuts', run: (take) => withPraat(take, carefulCuts) },
    );
  }
  if (hasProgram('ffmpeg')) peers.push({ name: 'pitchy (MPM), plain cuts', run: withPitchy });
  if (hasProgram('aubionotes') && hasProgram('ffmpeg')) peers.push({ name: 'aubionotes', run: withAubio });
  return peers;
}

/** The hole for a pitch: the nearest playable note, preferring a natural one to a bend of the same pitch. */
export function onHoleChart(hz: number, playable: readonly PlayableNote[]): PlayableNote {
  const cost = (note: PlayableNote): number =>
    Math.abs(centsBetween(hz, note.f0Hz)) + (note.bend > 0 ? 5 : 0) + (note.over ? 10 : 0);
  return playable.reduce((best, note) => (cost(note) < cost(best) ? note : best));
}

/** Stretches of sounding pitch as notes on the take's harp. */
export function asNotes(
  spans: readonly { onsetSec: number; offsetSec: number; f0Hz: number }[],
  take: LabelledTake,
): EstimatedNote[] {
  const playable = playableNotes(take.harp);
  return spans.map((span) => {
    const { hole, breath, bend, over } = onHoleChart(span.f0Hz, playable);
    return { ...span, hole, breath, bend, over, confidence: null, leak: null };
  });
}

/** User and system time of a program and its children by bash's own count. @throws Error when it fails */
export function timed(command: readonly string[]): {
  readonly stdout: string;
  readonly cpuSec: number;
  readonly wallSec: number;
} {
  const script = '"$@"; code=$?; times >&3; exit $code';
  const begun = performance.now();
  const result = spawnSync('bash', ['-c', script, 'bash', ...command], {
    stdio: ['ignore', 'pipe', 'pipe', 'pipe'],
    maxBuffer: 2 ** 30,
  });
  const wallSec = (performance.now() - begun) / 1000;
  if (result.status !== 0) throw new Error(`${command[0]} failed: ${result.stderr.toString().slice(-400)}`);
  const children = result.output[3]!.toString().trim().split('\n').at(-1)!;
  let cpuSec = 0;
  for (const [, minutes, seconds] of children.matchAll(/(\d+)m([\d.]+)s/g)) {
    cpuSec += Number(minutes) * 60 + Number(seconds);
  }
  return { stdout: result.stdout.toString(), cpuSec, wallSec };
}

function withAubio(take: LabelledTake): ReturnType<Peer['run']> {
  return inTemporaryFolder((folder) => {
    const { stdout, cpuSec } = timed(['aubionotes', '-i', monoWav(take.path, folder)]);
    const spans = stdout
      .split('\n')
      .map((line) => line.trim().split(/\s+/).map(Number))
      .filter((row) => row.length === 3 && row[2] > row[1])
      .map(([midi, onset, offset]) => ({
        onsetSec: Math.max(0, onset - AUBIO_DELAY_SEC),
        offsetSec: offset - AUBIO_DELAY_SEC,
        f0Hz: take.harp.a4Hz * 2 ** ((midi - 69) / 12),
      }));
    return { notes: asNotes(spans, take), cpuSec };
  });
}

/** Pitch by autocorrelation and level every 5 ms. */
const PRAAT_SCRIPT = `form Track
  sentence path
  real floor
  real ceiling
endform
sound = Read from file: path$
selectObject: sound
pitch = To Pitch (ac): 0.005, floor, 15, "no", 0.03, 0.45, 0.01, 0.35, 0.14, ceiling
frames = Get number of frames
first = Get time from frame number: 1
selectObject: sound
intensity = To Intensity: floor, 0.005, "no"
writeInfoLine: first
for i to frames
  selectObject: pitch
  hz = Get value in frame: i, "Hertz"
  t = Get time from frame number: i
  selectObject: intensity
  level = Get value at time: t, "linear"
  if hz = undefined
    hz = 0
  endif
  if level = undefined
    level = -100
  endif
  appendInfoLine: fixed$ (hz, 3), " ", fixed$ (level, 2)
endfor
`;

/** Praat's tracks of this run: both ways of cutting use the same one, and its time counts for each. */
const praatTracks = new Map<string, { readonly track: PitchTrack; readonly cpuSec: number }>();

function withPraat(take: LabelledTake, cut: (track: PitchTrack) => Span[]): ReturnType<Peer['run']> {
  const found = praatTracks.get(take.path) ?? praatTrack(take);
  praatTracks.set(take.path, found);
  return { notes: asNotes(cut(found.track), take), cpuSec: found.cpuSec };
}

function praatTrack(take: LabelledTake): { readonly track: PitchTrack; readonly cpuSec: number } {
  return inTemporaryFolder((folder) => {
    const script = join(folder, 'track.praat');
    writeFileSync(script, PRAAT_SCRIPT);
    const pitches = playableNotes(take.harp).map((note) => note.f0Hz);
    const floor = String(Math.floor(Math.min(...pitches) * 0.9));
    const ceiling = String(Math.ceil(Math.max(...pitches) * 1.06));
    const { stdout, cpuSec } = timed(['praat', '--run', script, monoWav(take.path, folder), floor, ceiling]);
    const [first, ...rows] = stdout.trim().split('\n');
    const values = rows.map((row) => row.split(' ').map(Number));
    const track = {
      firstSec: Number(first),
      hopSec: 0.005,
      hz: values.map(([hz]) => hz),
      levelDb: values.map(([, level]) => level),
    };
    return { track, cpuSec };
  });
}

const PITCHY_FRAME = 2048;
/** Frames less clear than this are unvoiced (the library's own example). */
const PITCHY_CLARITY = 0.9;

/** The npm library, its track cut plainly; CPU time of this process, reading left out. */
function withPitchy(take: LabelledTake): ReturnType<Peer['run']> {
  const sampleRate = 44100;
  const samples = decodeWithFfmpeg(take.path, sampleRate);
  const pitches = playableNotes(take.harp).map((note) => note.f0Hz);
  const [lowest, highest] = [Math.min(...pitches) * 0.9, Math.max(...pitches) * 1.06];
  const before = process.cpuUsage();
  const detector = PitchDetector.forFloat32Array(PITCHY_FRAME);
  const hop = Math.round(0.005 * sampleRate);
  const hz: number[] = [];
  for (let at = 0; at + PITCHY_FRAME <= samples.length; at += hop) {
    const [pitch, clarity] = detector.findPitch(samples.subarray(at, at + PITCHY_FRAME), sampleRate);
    hz.push(clarity >= PITCHY_CLARITY && pitch >= lowest && pitch <= highest ? pitch : 0);
  }
  const firstSec = PITCHY_FRAME / 2 / sampleRate;
  const track = { firstSec, hopSec: hop / sampleRate, hz, levelDb: hz.map(() => 0) };
  const notes = asNotes(plainCuts(track), take);
  const { user, system } = process.cpuUsage(before);
  return { notes, cpuSec: (user + system) / 1e6 };
}

interface Span {
  readonly onsetSec: number;
  readonly offsetSec: number;
  readonly f0Hz: number;
}

const median = (values: readonly number[]): number => [...values].sort((a, b) => a - b)[values.length >> 1];

function spanOf(track: PitchTrack, from: number, to: number): Span[] {
  const onsetSec = track.firstSec + from * track.hopSec;
  const offsetSec = track.firstSec + to * track.hopSec;
  if (offsetSec - onsetSec < SHORTEST_SEC) return [];
  return [{ onsetSec, offsetSec, f0Hz: median(track.hz.slice(from, to)) }];
}

/** A note is a run of voiced frames on one semitone. */
export function plainCuts(track: PitchTrack): Span[] {
  const semitone = track.hz.map((hz) => (hz > 0 ? Math.round(12 * Math.log2(hz / 440)) : null));
  const spans: Span[] = [];
  for (let from = 0, i = 1; i <= semitone.length; i++) {
    if (i < semitone.length && semitone[i] === semitone[from]) continue;
    if (semitone[from] !== null) spans.push(...spanOf(track, from, i));
    from = i;
  }
  return spans;
}

/** Voiced runs, cut where the pitch moves away from the note so far and where the level dips and rises again. */
export function carefulCuts(track: PitchTrack): Span[] {
  const { hz, levelDb } = track;
  const spans: Span[] = [];
  let from = -1;
  for (let i = 0; i <= hz.length; i++) {
    const voiced = i < hz.length && hz[i] > 0;
    if (from < 0) {
      if (voiced) from = i;
      continue;
    }
    const soFar = median(hz.slice(Math.max(from, i - 40), i));
    const moved =
      voiced &&
      [0, 1, 2].every((k) => hz[i + k] > 0 && Math.abs(centsBetween(hz[i + k], soFar)) > MOVE_CENTS);
    const dips = voiced && i - from > 8 && isDip(levelDb, i);
    if (voiced && !moved && !dips) continue;
    spans.push(...spanOf(track, from, i));
    from = voiced ? i : -1;
  }
  return spans;
}

/** The level is lowest here within 60 ms, and higher by DIP_DB on both sides. */
function isDip(levelDb: readonly number[], i: number): boolean {
  const reach = 12;
  if (i < reach || i + reach >= levelDb.length) return false;
  const before = levelDb.slice(i - reach, i);
  const after = levelDb.slice(i + 1, i + reach + 1);
  return (
    levelDb[i] <= Math.min(...before, ...after) &&
    Math.max(...before) - levelDb[i] >= DIP_DB &&
    Math.max(...after) - levelDb[i] >= DIP_DB
  );
}

/** What the peers can read, at the rate for which aubionotes' delay holds. */
function monoWav(path: string, folder: string): string {
  const to = join(folder, 'mono.wav');
  runProgram('ffmpeg', [
    '-v',
    'error',
    '-y',
    '-i',
    path,
    '-ac',
    '1',
    '-ar',
    '44100',
    '-c:a',
    'pcm_s16le',
    to,
  ]);
  return to;
}
