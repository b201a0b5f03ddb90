// Reedtrace as a library: each note of a recording, then all as ABC. `node samples/library.mjs take.wav D`
import * as reedtrace from 'reedtrace';

const [path, harp] = process.argv.slice(2);
try {
  const { samples, source } = await reedtrace.readRecording(path);
  const found = await reedtrace.transcribe(samples, harp === undefined ? {} : { harp });
  for (const note of found.notes) {
    const sure = Math.round(100 * note.confidence);
    console.log(`${note.onsetSec.toFixed(2)} s  ${reedtrace.formatTabNote(note)}  ${sure} % sure`);
  }
  const score = reedtrace.buildScore(reedtrace.buildTake(source, found), source.file);
  console.log(await reedtrace.FORMATS.abc.write(score, { style: 'signs' }));
} catch (error) {
  if (!(error instanceof reedtrace.ReedtraceError)) throw error;
  console.error(`${error.message}: ${error.fix}`);
  process.exitCode = error.exitCode;
}
