/*
 * Runs the basic-pitch model of the npm package on samples (mono, 22,050 Hz, float32) with the package's own note
 * cutting and default thresholds: node run.mjs INSTALLED-FOLDER SAMPLES LOWEST-HZ HIGHEST-HZ
 * Prints JSON, one [onsetSec, offsetSec, midi, mean bend in thirds of a semitone] a note. The model is a file of the
 * package; nothing is fetched.
 */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';

const [folder, samplesPath, lowestHz, highestHz] = process.argv.slice(2);
const require = createRequire(join(folder, 'package.json'));
const log = console.log;
console.log = console.warn = () => {}; // tfjs greets on standard output
const tf = require('@tensorflow/tfjs');
const wasm = require('@tensorflow/tfjs-backend-wasm');
const {
  BasicPitch,
  addPitchBendsToNoteEvents,
  noteFramesToTime,
  outputToNotesPoly,
} = require('@spotify/basic-pitch');

const ONSET_THRESHOLD = 0.5;
const FRAME_THRESHOLD = 0.3;
const SHORTEST_FRAMES = 5;

wasm.setWasmPaths(`${dirname(require.resolve('@tensorflow/tfjs-backend-wasm'))}/`);
if (!(await tf.setBackend('wasm').catch(() => false))) await tf.setBackend('cpu');
// The WebAssembly kernel of `Fill` wants a type that the model's graph leaves to the value.
const fill = tf.getKernel('Fill', tf.getBackend());
tf.unregisterKernel('Fill', tf.getBackend());
tf.registerKernel({
  ...fill,
  kernelFunc: (call) =>
    fill.kernelFunc({ ...call, attrs: { ...call.attrs, dtype: call.attrs.dtype ?? 'float32' } }),
});

const modelFolder = join(folder, 'node_modules/@spotify/basic-pitch/model');
const model = JSON.parse(readFileSync(join(modelFolder, 'model.json'), 'utf8'));
const weights = model.weightsManifest.flatMap((group) =>
  group.paths.map((path) => readFileSync(join(modelFolder, path))),
);
const weightData = Buffer.concat(weights);
const handler = {
  load: async () => ({
    ...model,
    weightSpecs: model.weightsManifest.flatMap((group) => group.weights),
    weightData: weightData.buffer.slice(weightData.byteOffset, weightData.byteOffset + weightData.length),
  }),
};
const bytes = readFileSync(samplesPath);
const samples = new Float32Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));

const frames = [];
const onsets = [];
const contours = [];
await new BasicPitch(tf.loadGraphModel(handler)).evaluateModel(
  samples,
  (f, o, c) => {
    frames.push(...f);
    onsets.push(...o);
    contours.push(...c);
  },
  () => {},
);
const notes = noteFramesToTime(
  addPitchBendsToNoteEvents(
    contours,
    outputToNotesPoly(
      frames,
      onsets,
      ONSET_THRESHOLD,
      FRAME_THRESHOLD,
      SHORTEST_FRAMES,
      true,
      Number(highestHz),
      Number(lowestHz),
    ),
  ),
).sort((a, b) => a.startTimeSeconds - b.startTimeSeconds);
const mean = (values) => values.reduce((sum, value) => sum + value, 0) / values.length;
log(
  JSON.stringify({
    backend: tf.getBackend(),
    notes: notes.map((note) => [
      note.startTimeSeconds,
      note.startTimeSeconds + note.durationSeconds,
      note.pitchMidi,
      note.pitchBends?.length ? mean(note.pitchBends) : 0,
    ]),
  }),
);
