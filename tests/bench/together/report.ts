import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { seededRng } from '../../../samples/synth/rng.ts';
import { roughened } from '../../../samples/synth/scene/roughen.ts';
import { synthesise } from '../../../samples/synth/take.ts';
import { encodeWav } from '../../../samples/synth/wav.ts';
import type { HarpSpec } from '../../../src/harp/types.ts';
import { scoreOf } from '../scores/metrics.ts';
import { textTable } from '../scores/table.ts';
import { CONDITIONS } from '../sets/conditions.ts';
import { hasProgram, throughCodec } from '../sets/external.ts';
import type { Job, JobResult } from '../worker.ts';
import { addTogether, EVENT_KINDS, type PlayedEvent, scoreTogether, type TogetherScore } from './score.ts';
import { KINDS, togetherTakes } from './takes.ts';

type Run = (jobs: readonly Job[]) => Promise<JobResult[]>;

interface TruthTake {
  readonly name: string;
  readonly path: string;
  readonly groups: readonly string[];
  readonly harp: HarpSpec;
  readonly events: readonly PlayedEvent[];
}

/**
 * Scores takes with several holes at once, harp given: those of a folder with their truth, and a set rendered from a seed.
 * @param folder  recordings with truth in the form of `TruthFile`; left out when it is not there
 */
export async function togetherReport(
  folder: string | null,
  seed: number,
  rounds: number,
  job: Omit<Job, 'path' | 'harp'>,
  run: Run,
): Promise<string> {
  const temporary = mkdtempSync(join(tmpdir(), 'reedtrace-together-'));
  try {
    const takes = [
      ...(folder !== null && existsSync(folder) ? labelledIn(folder) : []),
      ...madeTakes(temporary, seed, rounds),
    ];
    const heard = await run(takes.map(({ path, harp }) => ({ ...job, path, harp })));
    const scores = takes.map(({ events, harp }, i) => scoreTogether(events, heard[i].notes, harp));
    const groups = ['folder', ...KINDS, ...CONDITIONS, 'made'];
    const rows = groups.flatMap((group) => {
      const part = scores.filter((_, i) => takes[i].groups.includes(group));
      return part.length === 0 ? [] : [cells(group, part.length, addTogether(part))];
    });
    const single = takes.map((take, i) => cells(take.name, 1, scores[i]));
    return [textTable([HEAD, ...rows]), '', 'Take by take', textTable([HEAD, ...single])].join('\n');
  } finally {
    rmSync(temporary, { recursive: true, force: true });
  }
}

const HEAD = ['takes', 'count', 'events', 'event F1', ...EVENT_KINDS, 'false shakes'];

function cells(name: string, count: number, { event, kinds }: TogetherScore): string[] {
  return [
    name,
    String(count),
    String(event.reference),
    scoreOf(event).f1.toFixed(3),
    ...EVENT_KINDS.map((kind) => `${kinds[kind].matched}/${kinds[kind].reference}`),
    String(kinds.shake.estimated - kinds.shake.matched),
  ];
}

interface TruthFile {
  readonly case: string;
  readonly harp: string;
  readonly events: readonly {
    readonly onset: number;
    readonly breath: 'blow' | 'draw';
    readonly holes: readonly number[];
    readonly bend: number;
    readonly kind: 'single' | 'together' | 'shake';
  }[];
}

function labelledIn(folder: string): TruthTake[] {
  const names = readdirSync(folder).sort();
  return names.flatMap((name) => {
    if (!name.endsWith('.json')) return [];
    const truth = JSON.parse(readFileSync(join(folder, name), 'utf8')) as TruthFile;
    const sound = names.find((other) => other !== name && other.startsWith(`${truth.case}.`));
    if (sound === undefined) return [];
    return [
      {
        name: truth.case,
        path: join(folder, sound),
        groups: ['folder'],
        harp: { key: truth.harp, tuning: 'richter', temperament: 'equal', a4Hz: 440 },
        events: truth.events.map(({ onset, breath, holes, bend, kind }) => ({
          onsetSec: onset,
          hole: holes[0],
          breath,
          bend,
          over: false,
          ...(holes.length > 1 ? { holes } : {}),
          ...(kind === 'shake' ? { shake: true } : {}),
        })),
      },
    ];
  });
}

export function madeTakes(folder: string, seed: number, rounds: number): TruthTake[] {
  const ffmpeg = hasProgram('ffmpeg');
  return togetherTakes(seed, rounds).map(({ spec, condition, degradation }) => {
    const take = roughened(synthesise(spec), degradation, seededRng(spec.seed + 1));
    const { codec } = degradation;
    const samples =
      ffmpeg && codec !== undefined ? throughCodec(take.samples, take.sampleRate, codec) : take.samples;
    const path = join(folder, `${spec.name}.wav`);
    writeFileSync(path, encodeWav([samples], take.sampleRate));
    return {
      name: spec.name,
      path,
      groups: [spec.category, condition, 'made'],
      harp: spec.harp,
      events: take.truth.notes.map((note) => ({
        ...note,
        ...(note.shakePerSec === undefined ? {} : { shake: true }),
      })),
    };
  });
}
