import { fork } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { takeFile, takeOf, WORK, type Work } from './growth-work.ts';

/**
 * How work grows with the notes: `npm run bench:growth -- 100000 check` doubles the input of every command whose name has
 * the second word in it, up to the first, each in a process of its own. Prints the exponents of processor time and memory.
 */
const FEWEST = 3_125;
const MOST = 100_000;
/** A work that took so long is not doubled again. Seconds. */
const LONG_ENOUGH = 20;
/** Below these, clock, compiler and garbage collection matter more than the growth. */
const TELLING = { sec: 0.25, bytes: 20e6 };

interface Measured {
  readonly notes: number;
  /** Processor time. */
  readonly sec: number;
  /** By which the process grew beyond what it was before the work, at the most. */
  readonly bytes: number;
}

const sizes = (most: number): number[] =>
  Array.from({ length: 1 + Math.floor(Math.log2(most / FEWEST)) }, (_, n) => FEWEST * 2 ** n);

/** Measures one work in this process: the most memory so far is that of the last, as each is twice the one before. */
async function measure({ prepare }: Work, most: number): Promise<Measured[]> {
  const measured: Measured[] = [];
  for (const notes of sizes(most)) {
    const work = prepare(notes);
    if (notes === FEWEST) await work();
    const before = process.memoryUsage.rss();
    const begun = process.cpuUsage();
    await work();
    const { user, system } = process.cpuUsage(begun);
    const peakBytes = process.resourceUsage().maxRSS * 1024;
    measured.push({ notes, sec: (user + system) / 1e6, bytes: Math.max(0, peakBytes - before) });
    if (measured[measured.length - 1].sec > LONG_ENOUGH) break;
  }
  return measured;
}

/** In a process of its own. */
function measureApart(index: number, most: number): Promise<Measured[]> {
  return new Promise((done, failed) => {
    const child = fork(fileURLToPath(import.meta.url), [String(most), '--work', String(index)]);
    child.on('message', (measured) => done(measured as Measured[]));
    child.on('exit', (code, signal) => failed(new Error(`ended with ${signal ?? code}`)));
  });
}

/** Least squares through the logarithms; null when too little can be told. */
function exponentOf(measured: readonly Measured[], of: 'sec' | 'bytes'): number | null {
  const points = measured
    .filter((one) => one[of] >= TELLING[of])
    .map((one) => [Math.log(one.notes), Math.log(one[of])]);
  if (points.length < 2) return null;
  const [meanX, meanY] = [0, 1].map((k) => points.reduce((sum, point) => sum + point[k], 0) / points.length);
  const over = points.reduce((sum, [x, y]) => sum + (x - meanX) * (y - meanY), 0);
  return over / points.reduce((sum, [x]) => sum + (x - meanX) ** 2, 0);
}

function line(command: string, measured: readonly Measured[]): string {
  const last = measured[measured.length - 1];
  const shown = [exponentOf(measured, 'sec'), exponentOf(measured, 'bytes')].map((exponent) =>
    (exponent === null ? '-' : exponent.toFixed(2)).padStart(6),
  );
  const most = [last.notes, last.sec.toFixed(2), Math.round(last.bytes / 1e6)];
  return `${command.padEnd(32)}${shown.join('')}${most.map((value) => String(value).padStart(9)).join('')}`;
}

const [most = String(MOST), only = '', index] = process.argv.slice(2);
if (only === '--work') {
  process.send?.(await measure(WORK[Number(index)], Number(most)));
  process.disconnect();
} else {
  process.env.REEDTRACE_GROWTH_TAKES = mkdtempSync(join(tmpdir(), 'reedtrace-growth-'));
  for (const notes of sizes(Number(most))) writeFileSync(takeFile(notes), JSON.stringify(takeOf(notes)));
  process.stdout.write(`${'command'.padEnd(32)}  time  room    notes  seconds       MB\n`);
  for (const [n, { command }] of WORK.entries()) {
    if (!command.includes(only)) continue;
    const measured = await measureApart(n, Number(most)).catch((error: unknown) => String(error));
    process.stdout.write(
      `${typeof measured === 'string' ? `${command}: ${measured}` : line(command, measured)}\n`,
    );
  }
  rmSync(process.env.REEDTRACE_GROWTH_TAKES, { recursive: true });
}
