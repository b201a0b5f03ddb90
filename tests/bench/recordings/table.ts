import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Mixdown } from '../../../src/audio/mixdown.ts';
import { ReedtraceError } from '../../../src/errors.ts';
import { hearPlaying } from '../../../src/pipeline.ts';
import { Essentia } from '../../../src/recording/essentia.ts';
import { judgeRecording } from '../../../src/recording/judge-recording.ts';
import { playedSpans } from '../../../src/recording/look.ts';
import { PROBLEM_KINDS, type ProblemKind } from '../../../src/recording/problem.ts';
import type { PlayedSpan } from '../../../src/recording/sound.ts';
import { ALSO, type PlantedRecording, plant } from './plant.ts';

/*
 * How well planted faults are found: `npx tsx tests/bench/recordings/table.ts [OF EACH KIND] [SEED]`.
 * Good recordings are twice as many as those of one kind. A kind that is named where it was not planted counts against
 * precision, unless it is there all the same (ALSO).
 */

/** What is heard is kept from run to run, as it takes the most time; delete the file when the ear changes. */
const cachePath = join(tmpdir(), 'reedtrace-planted-notes.json');
const cache: Record<string, PlayedSpan[]> = existsSync(cachePath)
  ? (JSON.parse(readFileSync(cachePath, 'utf8')) as Record<string, PlayedSpan[]>)
  : {};

async function notesOf(
  { samples, sampleRate }: PlantedRecording,
  id: string,
): Promise<readonly PlayedSpan[]> {
  if (cache[id] !== undefined) return cache[id];
  const mixdown = new Mixdown(sampleRate, 1, samples.length);
  mixdown.push([samples]);
  mixdown.finish('planted');
  const heard = await hearPlaying(mixdown.samples).catch((error: unknown) => {
    if (error instanceof ReedtraceError && error.code === 'E_NOTHING_PLAYED') return null;
    throw error;
  });
  const notes = heard === null ? [] : playedSpans(heard);
  cache[id] = notes;
  return notes;
}

const each = Number(process.argv[2] ?? 20);
const seed = Number(process.argv[3] ?? 1);
const only = process.argv[4]?.split(',');
const essentia = Essentia.load();
const planted = new Map<ProblemKind, number>();
const found = new Map<ProblemKind, number>();
const wrong = new Map<ProblemKind, number>();
const add = (map: Map<ProblemKind, number>, kind: ProblemKind): void => {
  map.set(kind, (map.get(kind) ?? 0) + 1);
};
let clean = 0;
const kinds: (ProblemKind | null)[] = [null, null, ...PROBLEM_KINDS];
for (const [row, kind] of kinds.entries()) {
  if (only !== undefined && !only.includes(kind ?? 'good')) continue;
  for (let i = 0; i < each; i++) {
    const recording = plant(kind, 1_000_000 * seed + 1000 * row + i);
    const notes = await notesOf(recording, `${kind ?? 'good'} ${1_000_000 * seed + 1000 * row + i}`);
    const { problems } = judgeRecording(recording.samples, recording.sampleRate, notes, essentia);
    const named = problems.map((problem) => problem.kind);
    const extra = named.filter((other) => other !== kind && !(kind !== null && ALSO[kind]?.includes(other)));
    for (const other of extra) add(wrong, other);
    if (kind === null && named.length === 0) clean++;
    if (kind !== null) {
      add(planted, kind);
      if (named.includes(kind)) add(found, kind);
    }
    if (extra.length > 0 || (kind !== null && !named.includes(kind))) {
      const told = problems.map(({ kind: other, message }) => `${other} (${message})`).join('; ');
      process.stderr.write(`${kind ?? 'good'} ${i}, ${recording.how}: ${told || 'nothing'}\n`);
    }
  }
}
writeFileSync(cachePath, JSON.stringify(cache));
const rows = PROBLEM_KINDS.filter((kind) => planted.has(kind)).map((kind) => {
  const hits = found.get(kind) ?? 0;
  const falsely = wrong.get(kind) ?? 0;
  const precision = hits + falsely === 0 ? Number.NaN : hits / (hits + falsely);
  return `${kind.padEnd(14)}${String(planted.get(kind)).padStart(8)}${String(hits).padStart(8)}${String(falsely).padStart(8)}${precision.toFixed(2).padStart(11)}${(hits / planted.get(kind)!).toFixed(2).padStart(8)}`;
});
process.stdout.write(
  [
    'kind           planted   found  falsely  precision  recall',
    ...rows,
    ...(only === undefined || only.includes('good')
      ? [`good recordings without a word: ${clean} of ${2 * each}`]
      : []),
    '',
  ].join('\n'),
);
