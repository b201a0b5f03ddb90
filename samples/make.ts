import { statSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { resample } from './synth/dsp.ts';
import { seededRng } from './synth/rng.ts';
import { peakTo } from './synth/scene/degrade.ts';
import { type Degradation, roughened } from './synth/scene/roughen.ts';
import { CLEAN, STUDENT } from './synth/style.ts';
import { synthesise, type TakeSpec } from './synth/take.ts';
import { encodeWav } from './synth/wav.ts';
import { TUNES } from './tunes.ts';

/*
 * Makes the bundled demo takes: `npm run samples`. The scene: an evening class. The teacher has put a tune and a
 * bending exercise on the class page; two students have sent their homework back (README.md beside this file).
 */

const SAMPLE_RATE = 22050;
const PEAK = 0.6;

/** The first phrases of a tune. */
const phrases = (tab: string, count: number): string => tab.split(' | ').slice(0, count).join(' | ');

const equal = (key: string): TakeSpec['harp'] => ({
  key,
  tuning: 'richter',
  temperament: 'equal',
  a4Hz: 440,
});

const TAKES: readonly { readonly spec: TakeSpec; readonly degradation: Degradation }[] = [
  {
    spec: {
      name: 'old-joe-clark',
      category: 'clean',
      harp: equal('D'),
      tab: phrases(TUNES['old-joe-clark'], 6),
      style: { ...CLEAN, tempoBpm: 132 },
      seed: 11,
    },
    degradation: {},
  },
  {
    spec: {
      name: 'bending-exercise',
      category: 'bends',
      harp: equal('A'),
      tab: "-2:1.5 ~-2':1.5 ~-2'':1.5 ~-2:1.5 | -3:1.5 ~-3' ~-3'' ~-3''' ~-3:1.5 | -4:1.5 ~-4' ~-4:1.5 | -4':1.5 r -3':1.5 r -2'':2",
      style: { ...CLEAN, tempoBpm: 96, bendErrorCents: [-40, 30], glideSec: [0.08, 0.16] },
      seed: 29,
    },
    degradation: {},
  },
  {
    spec: {
      name: 'homework-kitchen',
      category: 'lifelike',
      harp: equal('C'),
      tab: phrases(TUNES['red-river-valley'], 3),
      style: { ...STUDENT, tempoBpm: 96 },
      seed: 5,
    },
    degradation: { rt60: 0.45, drr: 5, snr: 24, noise: 'pink', phone: 'wide' },
  },
  {
    spec: {
      name: 'homework-with-talk',
      category: 'talk',
      harp: equal('G'),
      tab: phrases(TUNES['brother-john'], 4),
      style: { ...STUDENT, tempoBpm: 108, vibratoShare: 0, tremoloShare: 0 },
      seed: 8,
    },
    degradation: { talk: { pauses: 2, sec: [1.2, 2.2], db: -3 }, rt60: 0.3, drr: 9, snr: 28, noise: 'pink' },
  },
];

for (const { spec, degradation } of TAKES) {
  const take = roughened(synthesise(spec), degradation, seededRng(spec.seed + 1));
  const samples = peakTo(resample(take.samples, take.sampleRate / SAMPLE_RATE), PEAK);
  const path = (ending: string): string => fileURLToPath(new URL(`${spec.name}${ending}`, import.meta.url));
  writeFileSync(path('.wav'), encodeWav([samples], SAMPLE_RATE));
  writeFileSync(path('.truth.json'), `${JSON.stringify(take.truth, null, 1)}\n`);
  const seconds = (samples.length / SAMPLE_RATE).toFixed(1);
  console.log(
    `${spec.name}.wav: ${take.truth.notes.length} notes, ${seconds} s, ${statSync(path('.wav')).size} bytes`,
  );
}
