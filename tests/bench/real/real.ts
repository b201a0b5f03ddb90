import { fileURLToPath } from 'node:url';
import { isDeepStrictEqual } from 'node:util';
import type { Peer } from '../peers/peers.ts';
import { realClaims } from '../scores/claims.ts';
import { addHonesty, honestyInWords, LATE_SEC, measureHonesty } from '../scores/honesty.ts';
import { scoreOf } from '../scores/metrics.ts';
import { textTable } from '../scores/table.ts';
import type { LabelledTake } from '../sets/takes.ts';
import type { Job, JobResult } from '../worker.ts';
import type { RealClip, RealLabel } from './real-labels.ts';
import { clipsIn, loadRealLabels } from './real-labels.ts';
import { addReal, haveCounterparts, heardEvents, type RealScore, scoreReal } from './real-score.ts';

const LABELS = fileURLToPath(new URL('../../real', import.meta.url));
const HALVES = ['develop', 'report'] as const;

/** Runs recordings through the product. */
type Run = (jobs: readonly Job[]) => Promise<JobResult[]>;

/** Scores of one half under one condition. */
export interface RealRow {
  readonly use: (typeof HALVES)[number];
  readonly given: string;
  readonly score: RealScore;
}

export interface RealReport {
  readonly text: string;
  readonly rows: readonly RealRow[];
}

/**
 * Scores the product on the labelled recordings of players that lie in some folders: with the key given where the label
 * is sure of it, and with nothing given. Clips of the half that is never tuned on are shown as a sum only.
 * @param peers  general-purpose trackers to score beside it; they know single pitches only
 * @returns null when no labelled recording lies there
 */
export async function realReport(
  folders: readonly string[],
  job: Omit<Job, 'path' | 'harp'>,
  run: Run,
  peers: readonly Peer[],
): Promise<RealReport | null> {
  const clips = clipsIn(folders, loadRealLabels(LABELS));
  if (clips.length === 0) return null;
  const sure = clips.filter(({ label }) => label.harpSure).length;
  const conditions = [
    { given: `given key (${sure} of ${clips.length} clips)`, harpOf: keyOf },
    { given: 'given nothing', harpOf: () => null },
  ];
  const heard = await run(
    conditions.flatMap(({ harpOf }) =>
      clips.map((clip) => ({ ...job, path: clip.path, harp: harpOf(clip) })),
    ),
  );
  const failed = new Set(
    heard.flatMap(({ failure }, i) => {
      const { label } = clips[i % clips.length];
      return failure === null
        ? []
        : [`${label.use === 'develop' ? label.audio : 'one to report'}: ${failure}`];
    }),
  );
  const scored = conditions.map(({ given }, c) => ({
    given,
    clips: clips.map(({ label }, i) => {
      const { notes, harp, audioSec, leftOut } = heard[c * clips.length + i];
      const said = heardEvents(notes, harp);
      return {
        label,
        harp: harp?.key ?? 'none',
        score: scoreReal(label.notes, said, audioSec),
        honesty: measureHonesty(
          label.notes,
          haveCounterparts(label.notes, said, LATE_SEC),
          notes,
          realClaims(label.notes, said),
          leftOut,
        ),
      };
    }),
  }));
  const beside = peers.map((peer) => ({
    given: peer.name,
    clips: clips.map(({ label, path }, i) => {
      const { notes } = peer.run(asTake(label, path));
      return { label, harp: '-', score: scoreReal(label.notes, heardEvents(notes, null), heard[i].audioSec) };
    }),
  }));
  const rows = HALVES.flatMap((use) =>
    [...scored, ...beside].flatMap(({ given, clips: all }) => {
      const half = all.filter(({ label }) => label.use === use);
      return half.length === 0 ? [] : [{ use, given, score: addReal(half.map(({ score }) => score)) }];
    }),
  );
  const honest = HALVES.flatMap((use) =>
    scored.flatMap(({ given, clips: all }) => {
      const half = all.filter(({ label }) => label.use === use);
      const sum = addHonesty(half.map(({ honesty }) => honesty));
      return half.length === 0 ? [] : [`\nHow honest: ${use}, ${given}\n${honestyInWords(sum)}`];
    }),
  );
  const found = heard.slice(clips.length);
  const named = await run(
    clips.map(({ path }, i) => {
      const { harp } = found[i];
      return { ...job, path, harp: harp && { key: harp.key, tuning: harp.tuning } };
    }),
  );
  const same = clips.filter((_, i) => isDeepStrictEqual(named[i].notes, found[i].notes)).length;
  const players = new Set(clips.map(({ label }) => label.player)).size;
  const texts = [
    `${clips.length} clips of ${players} players`,
    textTable([HEAD, ...rows.map(({ use, given, score }) => cells(`${use}, ${given}`, score))]),
    ...honest,
    `\nThe harp that was found, then named, gives the very same notes in ${same} of ${clips.length} clips`,
    ...(failed.size > 0 ? [`\nRecordings that failed\n${[...failed].join('\n')}`] : []),
    ...scored.map(({ given, clips: all }) =>
      [
        `\nClip by clip, ${given}`,
        textTable([
          HEAD,
          ...all
            .filter(({ label }) => label.use === 'develop')
            .map(({ label, harp, score }) => cells(`${label.audio} [${harp}]`, score)),
        ]),
      ].join('\n'),
    ),
  ];
  return { text: texts.join('\n'), rows };
}

const HEAD = [
  'recordings',
  'clips',
  's',
  'single',
  'several',
  'nobody played',
  'event F1',
  'melody F1',
  'missed in a row',
];

function cells(name: string, score: RealScore): string[] {
  const of = ({ matched, reference }: RealScore['single']): string => `${matched}/${reference}`;
  return [
    name,
    String(score.clips),
    score.audioSec.toFixed(0),
    of(score.single),
    of(score.several),
    `${score.nobody.count} (${score.nobody.sec.toFixed(1)} s)`,
    scoreOf(score.event).f1.toFixed(3),
    scoreOf(score.melody).f1.toFixed(3),
    String(score.longestMissed),
  ];
}

/** A recording as peers take it: of the harp they use the range alone. */
function asTake({ harpKey }: RealLabel, path: string): LabelledTake {
  const harp = { key: harpKey ?? 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 };
  return { path, category: 'real', harp, notes: [], talkSec: [] };
}

function keyOf({ label }: RealClip): Job['harp'] {
  return label.harpSure && label.harpKey !== null ? { key: label.harpKey } : null;
}
