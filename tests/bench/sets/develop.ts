import { spawn } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { seededRng } from '../../../samples/synth/rng.ts';
import { babble, handling } from '../../../samples/synth/scene/company.ts';
import { peakTo, pinkNoise, whiteNoise } from '../../../samples/synth/scene/degrade.ts';
import { roughened } from '../../../samples/synth/scene/roughen.ts';
import { type SynthTake, synthesise } from '../../../samples/synth/take.ts';
import { encodeWav } from '../../../samples/synth/wav.ts';
import { type DevTake, devTakes, SET_SEEDS, type SetName } from './devset.ts';
import { espeakTalker, hasProgram, soundfonts, throughCodec } from './external.ts';
import { HARD_SEEDS, type HardSetName, hardTakes } from './hardset.ts';
import { soundfontTake } from './soundfont.ts';

/*
 * Makes a development set: node --import tsx tests/bench/sets/develop.ts FOLDER [--set tune|report|hard|hard-report]
 * [--scale 1] [--seed N] [--only CATEGORY] [--jobs 2]. WAV and truth of every take, and recordings without playing in FOLDER/no-playing.
 */

const USAGE =
  'usage: develop.ts FOLDER [--set tune|report|hard|hard-report] [--scale 1] [--seed N] [--only CATEGORY] [--jobs 2]';
const SEEDS = { ...SET_SEEDS, ...HARD_SEEDS };
const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    set: { type: 'string', default: 'tune' },
    scale: { type: 'string', default: '1' },
    seed: { type: 'string' },
    only: { type: 'string' },
    jobs: { type: 'string', default: String(availableParallelism()) },
    part: { type: 'string' },
  },
});
const [folder] = positionals;
if (!folder || !(values.set in SEEDS)) {
  console.error(USAGE);
  process.exitCode = 2;
} else if (values.part) {
  makePart(folder, values.set as SetName | HardSetName, values.part);
} else {
  mkdirSync(join(folder, 'no-playing'), { recursive: true });
  const jobs = Number(values.jobs);
  const started = Date.now();
  const codes = await Promise.all(Array.from({ length: jobs }, (_, i) => startPart(`${i}/${jobs}`)));
  console.log(`${folder}: set '${values.set}' done in ${Math.round((Date.now() - started) / 1000)} s`);
  if (codes.some((code) => code !== 0)) process.exitCode = 1;
}

function startPart(part: string): Promise<number | null> {
  const args = ['--import', 'tsx', fileURLToPath(import.meta.url), ...process.argv.slice(2), '--part', part];
  const child = spawn(process.execPath, args, { stdio: 'inherit' });
  return new Promise((resolve) => child.on('close', resolve));
}

function makePart(folder: string, set: SetName | HardSetName, part: string): void {
  const [index, parts] = part.split('/').map(Number);
  const fonts = hasProgram('fluidsynth') ? soundfonts() : [];
  const ffmpeg = hasProgram('ffmpeg');
  const talker = ffmpeg && hasProgram('espeak-ng') ? espeakTalker : babble;
  const scale = Number(values.scale);
  const seed = seedOf(set);
  const all =
    set in HARD_SEEDS ? hardTakes(set as HardSetName, scale, seed) : devTakes(set as SetName, scale, seed);
  const takes = all.filter((take) => !values.only || take.spec.category === values.only);
  takes.forEach((dev, i) => {
    if (i % parts !== index) return;
    if (dev.source === 'soundfont' && fonts.length === 0) return;
    const clean =
      dev.source === 'soundfont' ? soundfontTake(dev.spec, fonts[i % fonts.length]) : synthesise(dev.spec);
    // Half of the talk is the project's own babble, so that no detector is fitted to one speech synthesiser.
    const rough = roughened(clean, dev.degradation, seededRng(dev.spec.seed + 1), i % 2 ? talker : babble);
    write(folder, dev, ffmpeg && dev.degradation.codec ? coded(rough, dev.degradation.codec) : rough);
  });
  if (index === 0 && !values.only) makeNoPlaying(join(folder, 'no-playing'), set, talker);
}

function coded(take: SynthTake, codec: string): SynthTake {
  return { ...take, samples: throughCodec(take.samples, take.sampleRate, codec) };
}

function write(folder: string, dev: DevTake, take: SynthTake): void {
  const channels = dev.degradation.deadChannel
    ? [take.samples, new Float32Array(take.samples.length)]
    : [take.samples];
  writeFileSync(join(folder, `${dev.spec.name}.wav`), encodeWav(channels, take.sampleRate));
  writeFileSync(join(folder, `${dev.spec.name}.truth.json`), `${JSON.stringify(take.truth, null, 1)}\n`);
}

/** The set's own seed, or the one that was asked for: more takes of the same kinds. */
function seedOf(set: keyof typeof SEEDS): number {
  return values.seed === undefined ? SEEDS[set] : Number(values.seed);
}

/** Recordings in which nothing is to be found. */
function makeNoPlaying(folder: string, set: keyof typeof SEEDS, talker: typeof babble): void {
  const rate = 44100;
  const rng = seededRng(seedOf(set)).fork('no playing');
  const clicks = (): Float32Array => {
    const out = new Float32Array(12 * rate);
    for (let beat = 0; beat < 24; beat++) {
      for (let n = 0; n < 1500; n++) {
        out[beat * 22050 + n] =
          Math.sin((2 * Math.PI * (beat % 4 ? 1500 : 2000) * n) / rate) * Math.exp(-n / 250);
      }
    }
    return out;
  };
  const sounds: Record<string, Float32Array> = {
    silence: new Float32Array(10 * rate),
    'white-noise': whiteNoise(10 * rate, rng),
    'pink-noise': pinkNoise(10 * rate, rng),
    clicks: clicks(),
    handling: handling(15, rate, rng),
  };
  for (let i = 0; i < 4; i++) sounds[`babble-${i + 1}`] = babble(15, rate, rng);
  for (let i = 0; i < 6; i++) sounds[`speech-${i + 1}`] = talker(20, rate, rng);
  for (const [name, samples] of Object.entries(sounds)) {
    writeFileSync(join(folder, `${name}.wav`), encodeWav([peakTo(samples, 0.5)], rate));
  }
}
