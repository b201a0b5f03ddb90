import { mkdirSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { type Outcome, tryInput } from './attempt.ts';
import { soundRead } from './audio-target.ts';
import { Chance } from './chance.ts';
import { TARGETS, type Target } from './targets.ts';

/**
 * Gives every reader inputs that are almost valid, and prints how many it read, refused, and broke on: `npm run fuzz --
 * --seconds 60 --seed 1 --only abc`, or `--cases 1000000 --without audio` for so many inputs, however long it takes;
 * Ctrl-C ends it with what it has. An input that broke one is kept in the system's temporary folder; fixed, it goes
 * into `tests/fuzz/corpus/`. Ends with 1 when there was a fault.
 */
const { values } = parseArgs({
  options: {
    seconds: { type: 'string' },
    cases: { type: 'string' },
    seed: { type: 'string', default: String(Date.now() % 2 ** 31) },
    only: { type: 'string', default: '' },
    without: { type: 'string' },
  },
});

interface Tally {
  read: number;
  refused: number;
  faults: number;
  slowestMs: number;
  largestBytes: number;
}

const FAULTS_SHOWN = 5;
const folder = join(tmpdir(), 'reedtrace-fuzz-found');
const chance = new Chance(Number(values.seed));
const { only, without } = values;
const targets = TARGETS.filter(
  ({ kind }) => kind.includes(only) && (without === undefined || !kind.includes(without)),
);
const tallies = new Map<Target, Tally>(
  targets.map((target) => [target, { read: 0, refused: 0, faults: 0, slowestMs: 0, largestBytes: 0 }]),
);

function keep(target: Target, input: Uint8Array, { what }: Outcome & { kind: 'fault' }, tally: Tally): void {
  if (tally.faults > FAULTS_SHOWN) return;
  const path = join(folder, `${target.kind.replace(/\W+/g, '-')}-${tally.faults}.${target.extension}`);
  writeFileSync(path, input);
  process.stdout.write(`${target.kind}: ${what}\n  kept as ${path}\n`);
}

/** Inputs that a target gets in its turn: files take longer than texts. */
const TURN_MS = 100;
/** Share of the inputs that go on through what the commands do with them, which takes ten times as long. */
const THOROUGHLY = 0.05;

process.stdout.write(`seed ${values.seed}\n`);
const most = Number(values.cases ?? Number.POSITIVE_INFINITY);
const seconds = Number(values.seconds ?? (values.cases === undefined ? 60 : Number.POSITIVE_INFINITY));
const endsAt = performance.now() + 1000 * seconds;
let peakBytes = 0;
let cases = 0;
let isStopped = false;
for (const signal of ['SIGINT', 'SIGTERM'] as const) {
  process.once(signal, () => {
    isStopped = true;
  });
}
mkdirSync(folder, { recursive: true });
while (performance.now() < endsAt && cases < most && !isStopped) {
  // Signals are heard between two rounds.
  await new Promise((resume) => setImmediate(resume));
  for (const target of targets) {
    const tally = tallies.get(target)!;
    const turnEndsAt = Math.min(endsAt, performance.now() + TURN_MS);
    do {
      const input = target.input(chance);
      cases++;
      // Where even the process dies, this is what it died of.
      if (target.kind.startsWith('audio')) writeFileSync(join(folder, 'last-audio'), input);
      const outcome = await tryInput(target, input, chance.happens(THOROUGHLY));
      tally.slowestMs = Math.max(tally.slowestMs, outcome.ms);
      tally.largestBytes = Math.max(tally.largestBytes, input.length);
      if (outcome.kind === 'read') tally.read++;
      else if (outcome.kind === 'refused') tally.refused++;
      else {
        tally.faults++;
        keep(target, input, outcome, tally);
      }
    } while (performance.now() < turnEndsAt);
    peakBytes = Math.max(peakBytes, process.memoryUsage.rss());
  }
}

const head = ['kind', 'inputs', 'read', 'refused', 'faults', 'slowest', 'largest'];
const rows = [...tallies].map(([{ kind }, { read, refused, faults, slowestMs, largestBytes }]) => [
  kind,
  ...[read + refused + faults, read, refused, faults].map(String),
  `${Math.round(slowestMs)} ms`,
  `${Math.ceil(largestBytes / 1000)} kB`,
]);
const total = (pick: (tally: Tally) => number): number =>
  [...tallies.values()].reduce((sum, tally) => sum + pick(tally), 0);
const all = [
  'all',
  total((t) => t.read + t.refused + t.faults),
  total((t) => t.read),
  total((t) => t.refused),
  total((t) => t.faults),
  '',
  '',
];
const table = [head, ...rows, all.map(String)];
const widths = head.map((_, i) => Math.max(...table.map((row) => row[i].length)));
for (const row of table)
  process.stdout.write(
    `${row
      .map((cell, i) => cell.padEnd(widths[i]))
      .join('  ')
      .trimEnd()}\n`,
  );
process.stdout.write(
  `${(soundRead.sec / 3600).toFixed(1)} hours of sound read; most memory ${Math.round(peakBytes / 1e6)} MB\n`,
);
process.exitCode = total((t) => t.faults) > 0 ? 1 : 0;
