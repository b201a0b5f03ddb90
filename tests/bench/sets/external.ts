import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { resample } from '../../../samples/synth/dsp.ts';
import type { Rng } from '../../../samples/synth/rng.ts';
import type { Talker } from '../../../samples/synth/scene/scene.ts';
import { encodeWav } from '../../../samples/synth/wav.ts';

/** Programs of the system that the development set uses when they are there. Nothing of this is in the product. */

/** Whether a program can be started. */
export const hasProgram = (name: string): boolean => spawnSync('which', [name]).status === 0;

export function inTemporaryFolder<T>(work: (folder: string) => T): T {
  const folder = mkdtempSync(join(tmpdir(), 'reedtrace-bench-'));
  try {
    return work(folder);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** Runs a program. @throws Error with its last words when it fails. */
export function runProgram(
  name: string,
  args: readonly string[],
  options: { env?: NodeJS.ProcessEnv } = {},
): Buffer {
  const result = spawnSync(name, args, { maxBuffer: 2 ** 30, ...options });
  if (result.status !== 0) {
    throw new Error(`${name} failed: ${result.error?.message ?? result.stderr.toString().slice(-400)}`);
  }
  return result.stdout;
}

/** Decodes any file to one channel with ffmpeg. */
export function decodeWithFfmpeg(path: string, sampleRate: number): Float32Array {
  const bytes = runProgram('ffmpeg', [
    '-v',
    'error',
    '-i',
    path,
    '-ac',
    '1',
    '-ar',
    String(sampleRate),
    '-f',
    'f32le',
    '-',
  ]);
  return new Float32Array(
    bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length - (bytes.length % 4)),
  );
}

const CODECS: Readonly<Record<string, { ext: string; args: readonly string[] }>> = {
  opus12: { ext: 'ogg', args: ['-c:a', 'libopus', '-b:a', '12k'] },
  opus16: { ext: 'ogg', args: ['-c:a', 'libopus', '-b:a', '16k'] },
  opus24: { ext: 'ogg', args: ['-c:a', 'libopus', '-b:a', '24k'] },
  aac32: { ext: 'm4a', args: ['-c:a', 'aac', '-b:a', '32k'] },
  aac64: { ext: 'm4a', args: ['-c:a', 'aac', '-b:a', '64k'] },
  mp3low: { ext: 'mp3', args: ['-c:a', 'libmp3lame', '-b:a', '32k'] },
  mp3: { ext: 'mp3', args: ['-c:a', 'libmp3lame', '-b:a', '64k'] },
};

/**
 * Through a lossy codec and back. ffmpeg takes the encoder's delay off by what the container says (measured with
 * bursts: within one sample for all four), so times stay.
 */
export function throughCodec(samples: Float32Array, sampleRate: number, codec: string): Float32Array {
  const { ext, args } = CODECS[codec];
  return inTemporaryFolder((folder) => {
    const wav = join(folder, 'in.wav');
    const coded = join(folder, `coded.${ext}`);
    writeFileSync(wav, encodeWav([samples], sampleRate));
    runProgram('ffmpeg', ['-v', 'error', '-y', '-i', wav, ...args, coded]);
    const decoded = decodeWithFfmpeg(coded, sampleRate);
    const out = new Float32Array(samples.length);
    out.set(decoded.subarray(0, out.length));
    return out;
  });
}

const SENTENCES = [
  ['en', 'That was better. Now once more from the second phrase, and mind the breath before the draw notes.'],
  ['en', 'Hang on, I lost the place. Where does it start again? All right, one, two, three.'],
  ['en', 'So this is the tune we did last week, I will play it slowly and then a bit faster.'],
  ['en-us', 'I think the bend is still flat, can you hear it? Let me try the whole line.'],
  ['de', 'Jetzt noch einmal von vorne, bitte nicht so schnell, und achte auf die Pause.'],
  ['fr', 'Voilà, on recommence depuis le début, doucement, et respire bien avant la phrase.'],
  ['es', 'Muy bien, otra vez desde el principio, un poco más despacio, por favor.'],
];
const VOICES = ['m1', 'm3', 'm5', 'm7', 'f1', 'f2', 'f3', 'f4'];

/** Talk by a speech synthesiser of the system. */
export const espeakTalker: Talker = (sec, sampleRate, rng: Rng) =>
  inTemporaryFolder((folder) => {
    const path = join(folder, 'talk.wav');
    const [language, text] = rng.pick(SENTENCES);
    const speed = String(Math.round(rng.between([130, 190])));
    const pitch = String(Math.round(rng.between([25, 75])));
    runProgram('espeak-ng', [
      '-w',
      path,
      '-v',
      `${language}+${rng.pick(VOICES)}`,
      '-s',
      speed,
      '-p',
      pitch,
      text,
    ]);
    const spoken = decodeWithFfmpeg(path, 22050);
    return resample(spoken, 22050 / sampleRate).slice(0, Math.floor(sec * sampleRate));
  });

/** General MIDI soundfonts of the system. */
export function soundfonts(): string[] {
  const folder = '/usr/share/sounds/sf2';
  try {
    return readdirSync(folder)
      .filter((name) => name.endsWith('.sf2') && !name.startsWith('default'))
      .sort()
      .map((name) => join(folder, name));
  } catch {
    return [];
  }
}

/** Renders a MIDI file with fluidsynth, without its reverb and chorus. */
export function renderMidi(midi: Uint8Array, soundfont: string, sampleRate: number): Float32Array {
  return inTemporaryFolder((folder) => {
    const from = join(folder, 'in.mid');
    const to = join(folder, 'out.wav');
    writeFileSync(from, midi);
    runProgram('fluidsynth', [
      '-ni',
      '-R',
      '0',
      '-C',
      '0',
      '-g',
      '0.8',
      '-r',
      String(sampleRate),
      '-F',
      to,
      soundfont,
      from,
    ]);
    return decodeWithFfmpeg(to, sampleRate);
  });
}
