import { existsSync, writeFileSync } from 'node:fs';
import { availableParallelism, cpus } from 'node:os';
import { basename, relative, resolve } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { parseArgs } from 'node:util';
import { harpReport } from './measures/harp-finding.ts';
import { ornamentReport, reportedOrnaments } from './ornaments/report.ts';
import { ORNAMENT_SEEDS } from './ornaments/takes.ts';
import { basicPitchPeer } from './peers/neural-peer.ts';
import { installedPeers, type Peer } from './peers/peers.ts';
import { runJobs } from './pool.ts';
import { realReport } from './real/real.ts';
import { addHonesty, type Honesty, honestyInWords, renderedHonesty } from './scores/honesty.ts';
import { addMeasured, calibrationError, f1, type Measured, measureTake, quantile } from './scores/measure.ts';
import { renderSvg } from './scores/svg.ts';
import {
  type ByCategory,
  comparisonTable,
  errorTable,
  type Rival,
  reedCauseTable,
  reedTable,
  reliabilityTable,
  scoreTable,
  textTable,
  total,
} from './scores/table.ts';
import { type LabelledTake, loadNoPlaying, loadTakes } from './sets/takes.ts';
import { songsReport } from './songs/report.ts';
import { measureSpeed } from './speed/speed.ts';
import { togetherReport } from './together/report.ts';
import type { Job, JobResult } from './worker.ts';

/** Performances of each song. */
const SONG_SEEDS = 2;

const USAGE = `usage: npm run bench -- [FOLDER...] [options]
  FOLDER           folders with recordings and their truth (left out: samples/, ../shared/corpus and, before
                   them, the recordings of players in ../shared/real)
  --quick          only the scores: no harp finding, songs, peers or speed
  --no-harp        the harp is not given for the scores either
  --give key       give the key and tuning only, not temperament and A4
  --only CATEGORY  takes of one category
  --real FOLDER    only the labelled recordings of players (tests/real) that lie in FOLDER; may be given more than once
  --together       only takes with several holes at once: those in FOLDER (left out: ../shared/together) and a set
                   made anew; --seed N and --rounds N choose which and how many
  --ornaments      only ornaments planted in takes made anew; --seed N, --rounds N; with FOLDERs those reported there
  --peers          run peers also with --quick; fetch those of npm that are not there yet
  --extra JSON     further options for transcribe, as for an ablation
  --pipeline FILE  another module with \`transcribe\`, to compare with
  --worst N        list the N takes with the most errors
  --jobs N         processes (all cores)
  --json FILE      everything as JSON
  --svg FILE       the comparison as a drawing`;

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    quick: { type: 'boolean', default: false },
    'no-harp': { type: 'boolean', default: false },
    give: { type: 'string', default: 'all' },
    only: { type: 'string' },
    real: { type: 'string', multiple: true },
    together: { type: 'boolean', default: false },
    ornaments: { type: 'boolean', default: false },
    seed: { type: 'string' },
    rounds: { type: 'string' },
    peers: { type: 'boolean', default: false },
    extra: { type: 'string', default: '{}' },
    pipeline: { type: 'string' },
    worst: { type: 'string', default: '0' },
    jobs: { type: 'string', default: String(availableParallelism()) },
    json: { type: 'string' },
    svg: { type: 'string' },
    help: { type: 'boolean', default: false },
  },
});

/** Of the rendered takes with several holes. */
const TOGETHER_SEED = 4711;

const NO_PEERS: { readonly peers: readonly Peer[]; readonly leftOut: readonly string[] } = {
  peers: [],
  leftOut: [],
};

if (values.help) console.log(USAGE);
else if (values.real) await scoreRecordingsOfPlayers(values.real);
else if (values.together) await scoreTogetherTakes();
else if (values.ornaments) await scoreOrnamentTakes();
else {
  const passedOn = beside('../../../shared/real');
  if (positionals.length === 0 && !values.only && existsSync(passedOn))
    await scoreRecordingsOfPlayers([passedOn]);
  await main();
}

async function main(): Promise<void> {
  const folders = positionals.length > 0 ? positionals : defaultFolders();
  const takes = folders.flatMap(loadTakes).filter((take) => !values.only || take.category === values.only);
  if (takes.length === 0) {
    console.error(`no labelled recordings in ${folders.join(', ')}\n${USAGE}`);
    process.exitCode = 2;
    return;
  }
  console.log(
    `${takes.length} takes of ${folders.join(', ')}; Node ${process.version}, ${cpus()[0]?.model ?? 'unknown'} processor`,
  );

  const given = await transcribeAll(takes, (take) => (values['no-harp'] ? null : harpOf(take)));
  const parts = takes.map((take, i) => measureTake(take, given[i].notes));
  const byCategory = grouped(takes, parts);
  const ours: Rival = { name: 'reedtrace', byCategory, realTimeFactor: factorOf(given) };
  section(values['no-harp'] ? 'Scores, harp not given' : 'Scores, harp given', scoreTable(byCategory));
  section('Notes wrong, by kind', errorTable(byCategory));
  section('Confidence', reliabilityTable(total(byCategory)));
  const honest = new Map<string, Honesty>();
  takes.forEach((take, i) => {
    const one = renderedHonesty(take, given[i]);
    for (const name of [take.category, 'all']) {
      const before = honest.get(name);
      honest.set(name, before === undefined ? one : addHonesty([before, one]));
    }
  });
  for (const name of ['lifelike', 'all']) {
    const one = honest.get(name);
    if (one !== undefined) section(`How honest: ${name}`, honestyInWords(one));
  }
  const { leaks } = total(byCategory);
  section(
    'Second reeds',
    `${reedTable(byCategory)}\nof any level: found ${leaks.matched} of ${leaks.reference}, ${leaks.estimated} reported`,
  );
  section('Second reeds wrong, by cause', reedCauseTable(total(byCategory)));
  reportFailures(takes, given);
  if (Number(values.worst) > 0)
    section('Takes with the most errors', worstTable(takes, parts, Number(values.worst)));

  const silent = folders.flatMap(loadNoPlaying);
  const noPlaying = silent.length > 0 && !values.only ? await falseNotes(silent) : null;
  if (noPlaying) section('Recordings without playing: notes found', noPlaying.text);

  let harps: ReturnType<typeof harpReport> | null = null;
  if (!values.quick) {
    const found = values['no-harp'] ? given : await transcribeAll(takes, () => null);
    harps = harpReport(takes, found);
    section('Harp not given', harps.text);
    section('Words, lines and bars of songs', await songsReport(SONG_SEEDS, 0, () => {}));
  }
  const { peers, leftOut } = values.quick && !values.peers ? NO_PEERS : allPeers();
  const rivals = [ours, ...peers.map((peer) => runPeer(peer, takes))];
  if (rivals.length > 1) {
    const notes = [
      'Speed: peers with start-up on every take, reedtrace without; the same for both is further down.',
      ...leftOut,
    ];
    section('Beside general-purpose trackers', [comparisonTable(rivals), ...notes].join('\n'));
  }
  const speed = values.quick ? [] : measureSpeed([20, 600, 3600], 2);
  if (speed.length > 0) {
    section(
      'Speed, start-up included',
      textTable([
        ['program', 'take', 'cores', 'CPU s', 'x real time', 'by the clock', 'peak MB'],
        ...speed.map((row) => [
          row.program,
          `${row.audioSec} s`,
          String(row.cores),
          row.cpuSec.toFixed(2),
          row.realTimeFactor.toFixed(1),
          `${row.wallSec.toFixed(2)} s`,
          row.peakMb?.toFixed(0) ?? '-',
        ]),
      ]),
    );
  }
  if (values.svg) {
    writeFileSync(values.svg, renderSvg(rivals));
    console.log(`\nThe comparison is drawn in ${values.svg}`);
  }
  if (values.json) {
    const json = {
      format: 'reedtrace-bench',
      version: 1,
      takes: takes.map((take, i) => ({
        name: basename(take.path),
        category: take.category,
        ...summary(parts[i]),
      })),
      categories: Object.fromEntries([...byCategory].map(([name, m]) => [name, summary(m)])),
      all: summary(total(byCategory)),
      harps: harps?.counts ?? null,
      noPlaying: noPlaying?.counts ?? null,
      rivals: rivals.map((rival) => ({
        name: rival.name,
        realTimeFactor: rival.realTimeFactor,
        categories: Object.fromEntries([...rival.byCategory].map(([name, m]) => [name, f1(m.note)])),
        noteF1: f1(total(rival.byCategory).note),
        tabF1: f1(total(rival.byCategory).tab),
      })),
      speed,
    };
    writeFileSync(values.json, `${JSON.stringify(json, null, 1)}\n`);
  }
}

async function scoreRecordingsOfPlayers(folders: readonly string[]): Promise<void> {
  const report = await realReport(
    folders,
    jobExtras(),
    (jobs) => runJobs(jobs, Number(values.jobs), (done) => progress(`${done}/${jobs.length} recordings`)),
    values.peers ? installedPeers() : [],
  );
  if (report === null) {
    console.error(`no recording that tests/real has labels for in ${folders.join(', ')}\n${USAGE}`);
    process.exitCode = 2;
    return;
  }
  section('Recordings of players', report.text);
  if (values.json && values.real) writeFileSync(values.json, `${JSON.stringify(report.rows, null, 1)}\n`);
}

async function scoreOrnamentTakes(): Promise<void> {
  const run = (jobs: readonly Job[]): Promise<JobResult[]> =>
    runJobs(jobs, Number(values.jobs), (done) => progress(`${done}/${jobs.length} takes`));
  const report =
    positionals.length > 0
      ? await reportedOrnaments(positionals, jobExtras(), run)
      : await ornamentReport(
          Number(values.seed ?? ORNAMENT_SEEDS.report),
          Number(values.rounds ?? 4),
          jobExtras(),
          run,
        );
  section('Ornaments, harp given', report);
}

async function scoreTogetherTakes(): Promise<void> {
  const report = await togetherReport(
    positionals[0] ?? beside('../../../shared/together'),
    Number(values.seed ?? TOGETHER_SEED),
    Number(values.rounds ?? 1),
    jobExtras(),
    (jobs) => runJobs(jobs, Number(values.jobs), (done) => progress(`${done}/${jobs.length} takes`)),
  );
  section('Several holes at once, harp given', report);
}

/** A path from this file, as seen from where the command runs. */
function beside(path: string): string {
  return relative(process.cwd(), fileURLToPath(new URL(path, import.meta.url)));
}

function defaultFolders(): string[] {
  const corpus = beside('../../../shared/corpus');
  return [beside('../../samples'), ...(existsSync(corpus) ? [corpus] : [])];
}

function section(title: string, body: string): void {
  console.log(`\n${title}\n${body}`);
}

function harpOf(take: LabelledTake): Job['harp'] {
  const { key, tuning } = take.harp;
  return values.give === 'key' ? { key, tuning } : take.harp;
}

async function transcribeAll(
  takes: readonly LabelledTake[],
  harp: (take: LabelledTake) => Job['harp'],
): Promise<JobResult[]> {
  const jobs = takes.map((take) => ({ path: take.path, harp: harp(take), ...jobExtras() }));
  return runJobs(jobs, Number(values.jobs), (done) => progress(`${done}/${jobs.length} takes`));
}

/** The options of every job that are the same for all recordings. */
function jobExtras(): Pick<Job, 'extra' | 'pipeline'> {
  return {
    extra: JSON.parse(values.extra) as Job['extra'],
    pipeline: values.pipeline && pathToFileURL(resolve(values.pipeline)).href,
  };
}

function progress(text: string): void {
  if (process.stderr.isTTY) process.stderr.write(`\r${text}\u001b[K`);
}

function grouped(takes: readonly LabelledTake[], parts: readonly Measured[]): ByCategory {
  const groups = new Map<string, Measured[]>();
  takes.forEach((take, i) => {
    groups.set(take.category, [...(groups.get(take.category) ?? []), parts[i]]);
  });
  return new Map([...groups].map(([name, group]) => [name, addMeasured(group)]));
}

/** Audio time for each second of CPU time, start-up left out. */
function factorOf(results: readonly JobResult[]): number | null {
  const cpu = results.reduce((sum, result) => sum + result.cpuSec, 0);
  return cpu > 0 ? results.reduce((sum, result) => sum + result.audioSec, 0) / cpu : null;
}

function allPeers(): typeof NO_PEERS {
  const neural = basicPitchPeer(values.peers);
  const installed = installedPeers();
  return typeof neural === 'string'
    ? { peers: installed, leftOut: [neural] }
    : { peers: [...installed, neural], leftOut: [] };
}

function runPeer(peer: Peer, takes: readonly LabelledTake[]): Rival {
  let cpuSec = 0;
  const parts = takes.map((take, i) => {
    progress(`${peer.name} ${i + 1}/${takes.length}`);
    const run = peer.run(take);
    cpuSec += run.cpuSec;
    return measureTake(take, run.notes);
  });
  // The length of a recording is not read again: the last note of the truth ends close to its end.
  const audioSec = takes.reduce((sum, take) => sum + (take.notes.at(-1)?.offsetSec ?? 0), 0);
  return { name: peer.name, byCategory: grouped(takes, parts), realTimeFactor: audioSec / cpuSec };
}

function reportFailures(takes: readonly LabelledTake[], results: readonly JobResult[]): void {
  const failed = results.flatMap((result, i) =>
    result.failure ? [`${basename(takes[i].path)}: ${result.failure}`] : [],
  );
  if (failed.length > 0) section('Takes that failed', failed.join('\n'));
}

function worstTable(takes: readonly LabelledTake[], parts: readonly Measured[], count: number): string {
  const rows = takes.map((take, i) => {
    const kinds = Object.entries(parts[i].errors).filter(([, n]) => n > 0);
    return { take, part: parts[i], kinds, errors: kinds.reduce((sum, [, n]) => sum + n, 0) };
  });
  rows.sort((a, b) => b.errors - a.errors);
  return rows
    .slice(0, count)
    .map(({ take, part, kinds }) => {
      const scores = `note ${f1(part.note).toFixed(3)} tab ${f1(part.tab).toFixed(3)}`;
      return `${basename(take.path)}  ${scores}  ${kinds.map(([kind, n]) => `${kind} ${n}`).join(', ')}`;
    })
    .join('\n');
}

async function falseNotes(
  paths: readonly string[],
): Promise<{ text: string; counts: Readonly<Record<string, number>> }> {
  const results = await runJobs(
    paths.map((path) => ({ path, harp: { key: 'C' }, extra: {} })),
    Number(values.jobs),
  );
  const counts = Object.fromEntries(paths.map((path, i) => [basename(path), results[i].notes.length]));
  const text = textTable([
    ['recording', 'notes', 'refused as'],
    ...paths.map((path, i) => [basename(path), String(results[i].notes.length), results[i].failure ?? '-']),
  ]);
  return { text, counts };
}

function summary(m: Measured): Record<string, unknown> {
  return {
    takes: m.takes,
    notes: m.note.reference,
    noteF1: f1(m.note),
    noteF1at100ms: f1(m.note100),
    noteF1withOffset: f1(m.noteOffset),
    onsetF1: f1(m.onset),
    tabF1: f1(m.tab),
    naturalCents: { median: quantile(m.naturalCents, 0.5), p90: quantile(m.naturalCents, 0.9) },
    bentCents: { median: quantile(m.bentCents, 0.5), p90: quantile(m.bentCents, 0.9) },
    calibrationError: calibrationError(m.confidence),
    leaks: m.leaks,
    loudReeds: m.loudReeds,
    reedCauses: m.reedCauses,
    errors: m.errors,
  };
}
