/**
 * How many places the correction screen marks in takes as they were transcribed, by kind, beside the doubts of the
 * decoder: `npx tsx tests/ui/marks-bench.ts FOLDER…`, folders of recordings with their truth as `tests/bench` has them.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { readRecording } from '../../src/audio/read.ts';
import { transcribe } from '../../src/pipeline.ts';
import { buildTake } from '../../src/take/take.ts';
import { Ears } from '../../src/ui/state/ears.ts';
import { hear } from '../../src/ui/state/hearing.ts';
import { marksOf } from '../../src/ui/state/marks.ts';
import { openState } from '../../src/ui/state/state.ts';

const TUNINGS: Readonly<Record<string, string>> = { raised3: 'raised-third' };
const kinds = new Map<string, number>();
let takes = 0;
let notes = 0;
for (const folder of process.argv.slice(2)) {
  for (const file of readdirSync(folder).filter((name) => /\.(flac|wav|mp3|ogg)$/.test(name))) {
    const { samples, source } = await readRecording(join(folder, file));
    const truth = JSON.parse(readFileSync(join(folder, file.replace(/\.\w+$/, '.json')), 'utf8'));
    const key: string | undefined = truth.harp?.key ?? truth.key;
    const findings = await transcribe(
      samples,
      key === undefined ? {} : { harp: key, tuning: TUNINGS[truth.harp.layout] ?? 'richter' },
    );
    const take = buildTake(source, findings);
    const hearing = await hear(samples, () => {});
    const state = { ...openState(file, take, {}, false), ears: new Ears(samples), hearing };
    takes++;
    notes += take.notes.length;
    for (const { kind, text, sec } of marksOf(state)) {
      kinds.set(kind, (kinds.get(kind) ?? 0) + 1);
      if (process.env.VERBOSE) process.stdout.write(`${file} ${sec.toFixed(2)} ${kind}: ${text}\n`);
    }
  }
}
process.stdout.write(`${takes} takes, ${notes} notes: ${JSON.stringify(Object.fromEntries(kinds))}\n`);
