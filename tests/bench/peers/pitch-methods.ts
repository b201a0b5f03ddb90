/**
 * Frames of held notes that a pitch method puts more than 50 cents off, and in another octave or partial. Arguments:
 * folders of labelled takes. Ours without any decoding, beside the McLeod pitch method (MPM, ICMC 2005; pitchy).
 */
import { PitchDetector } from 'pitchy';
import { analyseFrames, CANDIDATES } from '../../../src/analysis/pitch/frames.ts';
import { readRecording } from '../../../src/audio/read.ts';
import { hzToMidi } from '../../../src/units.ts';
import { noPause } from '../hear.ts';
import { textTable } from '../scores/table.ts';
import { loadTakes } from '../sets/takes.ts';

const MPM_LENGTH = 2048;
const METHODS = ['best candidate', 'any of the eight', 'MPM, 2048 samples'] as const;
const counts = new Map<string, { frames: number; wrong: number[] }>();

for (const folder of process.argv.slice(2)) {
  for (const take of loadTakes(folder)) {
    const { samples } = await readRecording(take.path);
    const frames = await analyseFrames(samples, noPause);
    const detector = PitchDetector.forFloat32Array(MPM_LENGTH);
    const stretch = new Float32Array(MPM_LENGTH);
    const count = counts.get(take.category) ?? { frames: 0, wrong: METHODS.map(() => 0) };
    counts.set(take.category, count);
    for (const { f0Hz, sustainSec } of take.notes) {
      const isWrong = (midi: number): boolean => !(Math.abs(midi - hzToMidi(f0Hz)) <= 0.5);
      for (let t = Math.ceil(sustainSec[0] / frames.hopSec); t * frames.hopSec < sustainSec[1]; t++) {
        const candidates = frames.candidateMidi.subarray(t * CANDIDATES, (t + 1) * CANDIDATES);
        samples.read(Math.round(t * frames.hopSec * samples.sampleRate - MPM_LENGTH / 2), stretch);
        const [mpmHz] = detector.findPitch(stretch, samples.sampleRate);
        count.frames++;
        if (isWrong(candidates[0])) count.wrong[0]++;
        if (candidates.every(isWrong)) count.wrong[1]++;
        if (mpmHz <= 0 || isWrong(hzToMidi(mpmHz))) count.wrong[2]++;
      }
    }
  }
}
const percent = (part: number, whole: number): string => `${((100 * part) / whole).toFixed(2)} %`;
const rows = [...counts].map(([category, { frames, wrong }]) => [
  category,
  String(frames),
  ...wrong.map((n) => percent(n, frames)),
]);
console.log(textTable([['takes', 'frames', ...METHODS], ...rows]));
