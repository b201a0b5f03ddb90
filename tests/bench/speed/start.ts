import { execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { encodeWav } from '../../../samples/synth/wav.ts';
import { longTake, RATE } from './speed.ts';

/*
 * How much time and space the built program takes: `npm run bench:start`. Times by the clock, the best of several, so
 * that what else the machine does tells least.
 */
const ROOT = fileURLToPath(new URL('../../..', import.meta.url));
const CLI = join(ROOT, 'bin/reedtrace.js');
const RUNS = 10;
const TAKE_SEC = 20;

/** Bytes of the files of a package, without packages inside it. */
function bytesOf(folder: string): number {
  return readdirSync(folder, { withFileTypes: true }).reduce((sum, entry) => {
    const path = join(folder, entry.name);
    if (entry.isDirectory()) return entry.name === 'node_modules' ? sum : sum + bytesOf(path);
    return entry.isFile() ? sum + statSync(path).size : sum;
  }, 0);
}

/** Milliseconds until a program has written its first line, and until it has ended. */
function timesOf(args: readonly string[]): Promise<{ firstMs: number; endMs: number }> {
  const begun = performance.now();
  return new Promise((done, failed) => {
    let firstMs = Number.NaN;
    const child = spawn(process.execPath, args, { stdio: ['ignore', 'pipe', 'inherit'] });
    child.stdout.once('data', () => {
      firstMs = performance.now() - begun;
    });
    child.on('error', failed);
    child.on('exit', (code) => {
      if (code === 0) done({ firstMs, endMs: performance.now() - begun });
      else failed(new Error(`${args.join(' ')} ended with ${code}`));
    });
  });
}

async function best(args: readonly string[], of: 'firstMs' | 'endMs'): Promise<number> {
  let least = Number.POSITIVE_INFINITY;
  for (let n = 0; n < RUNS; n++) least = Math.min(least, (await timesOf(args))[of]);
  return least;
}

const npm = (...args: string[]): string => execFileSync('npm', args, { cwd: ROOT, encoding: 'utf8' });
const [{ size, unpackedSize }] = JSON.parse(npm('pack', '--dry-run', '--json', '--ignore-scripts'));
const packages = npm('ls', '--omit=dev', '--all', '--parseable').trim().split('\n').slice(1);
const withPackages = unpackedSize + packages.reduce((sum, folder) => sum + bytesOf(folder), 0);
const nodeMs = await best(['-e', '0'], 'endMs');
const versionMs = await best([CLI, '--version'], 'endMs');
const folder = mkdtempSync(join(tmpdir(), 'reedtrace-start-'));
const path = join(folder, 'take.wav');
writeFileSync(path, encodeWav([longTake(TAKE_SEC)], RATE));
const tabMs = await best([CLI, 'transcribe', path, '--harp', 'C', '--no-save', '--quiet'], 'firstMs');
rmSync(folder, { recursive: true });

const mb = (bytes: number): string => `${(bytes / 1e6).toFixed(1)} MB`;
const rows = [
  ['package, packed', mb(size)],
  ['package, unpacked', mb(unpackedSize)],
  [`installed, with ${packages.length} packages`, mb(withPackages)],
  ['Node alone', `${Math.round(nodeMs)} ms`],
  ['--version, over Node alone', `${Math.round(versionMs - nodeMs)} ms`],
  [`first line of tab of a take of ${TAKE_SEC} s`, `${Math.round(tabMs)} ms`],
];
for (const [what, value] of rows) process.stdout.write(`${what.padEnd(40)}${value.padStart(10)}\n`);
