/**
 * How fast the correction screen opens and answers on a take of 2,000 notes, in a pseudo-terminal of util-linux's
 * `script`: `npx tsx tests/ui/speed.ts` after `npm run build`. Prints milliseconds, and the processor time that the
 * screen's own thread took for each answer (Linux), which other programs on the machine hardly change.
 */
import { spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { notesOf, writeExample } from './example-take.ts';
import { LONG_LINES } from './long-take.ts';

const BIN = fileURLToPath(new URL('../../bin/reedtrace.js', import.meta.url));
const RUNS = Number(process.env.RUNS ?? 7);
/** The largest that the screen is looked at. */
const [COLUMNS, ROWS] = [200, 60];
/** A key that has drawn nothing by then changes nothing on the screen. */
const NO_ANSWER_MS = 400;
/** A key is answered when nothing more is drawn for this long. */
const QUIET_MS = 60;
/** What a key sends, what it is called in the table, and what the screen shows when its work is done. */
const KEYS: readonly (readonly [sends: string, name: string, done?: RegExp])[] = [
  ['\u001b[C', 'right'],
  ['\u001b[B', 'down'],
  ['\t', 'Tab'],
  [' ', 'Space'],
  ['5', '5'],
  ['d', 'd'],
  ["'", "'"],
  [',', ','],
  ['s', 's'],
  ['m', 'm'],
  ['u', 'u'],
  ['r', 'r'],
  ['x', 'x'],
  ['u', 'u'],
  ['w', 'w'],
  ['\u001b', 'Esc'],
  ['h', 'h'],
  ['\u001b[C', 'another harp'],
  ['\r', 'Enter: harp', /read again on/],
  ['u', 'u: harp'],
  ['h', 'h'],
  ['\u001b[C', 'another harp'],
  ['\r\u001b[C', 'Enter and right: harp', /read again on/],
  ['u', 'u: harp'],
  ['h', 'h'],
  ['\u001b[C', 'another harp'],
  ['\r5', 'Enter and 5: harp'],
  ['u', 'u'],
  ['u', 'u: harp'],
  ['h', 'h'],
  ['\u001b', 'Esc'],
  ['?', '?'],
  ['\u001b', 'Esc'],
];

const dir = mkdtempSync(join(tmpdir(), 'reedtrace-speed-'));
const pidFile = join(dir, 'pid');
const withSound = process.argv.includes('--recording');
const notes = notesOf(LONG_LINES);
const { path } = writeExample(dir, notes, withSound ? notes : null);
const median = (values: readonly number[]) => [...values].sort((a, b) => a - b)[values.length >> 1];
const wait = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms));

/** Processor time of the main thread of a process so far; NaN where the system doesn't tell. */
function ownMs(pid: string): number {
  try {
    return Number(readFileSync(`/proc/${pid}/schedstat`, 'utf8').split(' ')[0]) / 1e6;
  } catch {
    return Number.NaN;
  }
}

/** One run: when the first picture was there, when the first key was answered, and how long each later key took. */
async function run(
  patienceMs: number,
): Promise<{ picture: number; firstKey: number; keys: Map<string, { wallMs: number; ownMs: number }> }> {
  const { CI: _, CONTINUOUS_INTEGRATION: __, ...env } = process.env;
  const started = performance.now();
  const child = spawn(
    'script',
    [
      '-qfc',
      `stty cols ${COLUMNS} rows ${ROWS}; echo $$ > '${pidFile}'; exec '${process.execPath}' '${BIN}' correct '${path}'`,
      '/dev/null',
    ],
    {
      env: { ...env, LANG: 'C.UTF-8' },
    },
  );
  let picture = 0;
  let last = 0;
  let first = 0;
  child.stdout.on('data', (data: Buffer) => {
    const now = performance.now();
    if (picture === 0 && data.toString().includes('harp')) picture = now - started;
    if (first === 0) first = now;
    last = now;
  });
  const drawn = async () => {
    while (picture === 0) await wait(1);
  };
  await drawn();
  // Pressed as soon as there is something to see; answered once the screen shows the second note.
  let answered = 0;
  child.stdout.on('data', (data: Buffer) => {
    if (answered === 0 && data.toString().includes('note 2 of')) answered = performance.now() - started;
  });
  child.stdin.write('\u001b[C');
  while (answered === 0) await wait(1);
  await wait(patienceMs);
  const keys = new Map<string, { wallMs: number; ownMs: number }>();
  const pid = readFileSync(pidFile, 'utf8').trim();
  for (const [sends, name, done] of KEYS) {
    first = 0;
    let shown = '';
    const ownBefore = ownMs(pid);
    let ownAfter = 0;
    const answered = (data: Buffer) => {
      if (ownAfter === 0) ownAfter = ownMs(pid);
      shown += data.toString();
    };
    child.stdout.on('data', answered);
    const pressed = performance.now();
    child.stdin.write(sends);
    const patience = () => performance.now() - pressed < NO_ANSWER_MS;
    while (patience() && (first === 0 || (done !== undefined && !done.test(shown)))) await wait(1);
    while (performance.now() - last < QUIET_MS) await wait(1);
    child.stdout.off('data', answered);
    if (first !== 0) keys.set(name, { wallMs: first - pressed, ownMs: ownAfter - ownBefore });
  }
  child.stdin.write('qdiscard\r');
  await new Promise((resolve) => child.on('exit', resolve));
  return { picture, firstKey: answered, keys };
}

const runs = [];
for (let i = 0; i < RUNS; i++) runs.push(await run(withSound ? 4000 : 700));
process.stdout.write(`first picture ${median(runs.map(({ picture }) => picture)).toFixed(0)} ms, `);
process.stdout.write(
  `first key answered ${median(runs.map(({ firstKey }) => firstKey)).toFixed(0)} ms (medians of ${RUNS})\n`,
);
for (const key of new Set(runs.flatMap(({ keys }) => [...keys.keys()]))) {
  const times = runs.flatMap(({ keys }) => keys.get(key) ?? []);
  const wall = times.map(({ wallMs }) => wallMs);
  const own = times.map((each) => each.ownMs);
  process.stdout.write(
    `${key.padEnd(24)} ${median(wall).toFixed(0)} ms, at most ${Math.max(...wall).toFixed(0)}; own ${median(own).toFixed(0)}, at most ${Math.max(...own).toFixed(0)} (${times.length} times)\n`,
  );
}
const own = runs.flatMap(({ keys }) => [...keys.values()].map((each) => each.ownMs));
process.stdout.write(`all keys: own ${median(own).toFixed(0)} ms in the median\n`);
rmSync(dir, { recursive: true, force: true });
