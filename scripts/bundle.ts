import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import {
  chmodSync,
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { thirdPartyPaths } from './third-party.ts';

/*
 * `npm run bundle`: Reedtrace as one file for people who have no Node, in build/. The file is a shell script with Node,
 * the compiled program and the packages it needs behind it; it unpacks itself once into the user's cache folder. The
 * result is tested at once, with no Node on the path and no folder of modules.
 */

const ROOT = fileURLToPath(new URL('../', import.meta.url));
const { version } = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as { version: string };
const NAME = `reedtrace-${version}-${process.platform}-${process.arch}`;
const SAMPLE = 'samples/old-joe-clark.wav';
/** What packages contain besides code; licences stay. */
const LEFT_OUT =
  /\.(?:map|d\.[cm]?ts|tsx?|flow|markdown)$|(?:^|\/)(?:README|CHANGELOG|HISTORY)[^/]*$|(?:^|\/)(?:tests?|__tests__|docs?|examples?)\//i;
/** System programs that the file needs to unpack itself. */
const NEEDED = ['sh', 'tail', 'tar', 'gzip', 'mkdir', 'mktemp', 'mv', 'rm'];

/** The script before the archive; `%` lines of it are counted by `tail`. */
function head(id: string): string {
  const script = `#!/bin/sh
# Reedtrace ${version}, with Node ${process.versions.node}. Unpacks itself once; see THIRD-PARTY.md in there for licences.
set -eu
home="\${XDG_CACHE_HOME:-\${HOME:-/tmp}/.cache}/reedtrace"
place="$home/${id}"
if [ ! -e "$place" ]; then
  fail() { echo "error: cannot unpack into '$home'; free some space there, or set XDG_CACHE_HOME to a folder of your own" >&2; exit 5; }
  mkdir -p "$home" || fail
  new=$(mktemp -d "$home/unpack.XXXXXX") || fail
  trap 'rm -rf "$new"' EXIT
  tail -n +LINES "$0" | tar -xzf - -C "$new" || fail
  [ -e "$place" ] || mv "$new" "$place" || fail
  rm -rf "$new"
  trap - EXIT
fi
exec "$place/node" "$place/bin/reedtrace.js" "$@"
`;
  return script.replace('LINES', String(script.split('\n').length));
}

function run(
  command: string,
  args: readonly string[],
  options: { cwd?: string; env?: NodeJS.ProcessEnv } = {},
): string {
  const { status, stdout, stderr, error } = spawnSync(command, args, {
    encoding: 'utf8',
    maxBuffer: 1 << 28,
    ...options,
  });
  if (error !== undefined || status !== 0)
    throw new Error(`${command} ${args.join(' ')}: ${error?.message ?? stderr}`);
  return stdout;
}

/** Everything that goes into the archive, in a folder of its own. */
function stage(folder: string): void {
  const copy = (path: string, leaveOut = /(?!)/): void => {
    mkdirSync(join(folder, dirname(path)), { recursive: true });
    cpSync(join(ROOT, path), join(folder, path), {
      recursive: true,
      dereference: true,
      filter: (source) => !leaveOut.test(source.slice(ROOT.length + path.length)),
    });
  };
  for (const path of ['package.json', 'bin', 'dist', 'LICENSE', 'THIRD-PARTY.md', SAMPLE]) copy(path);
  for (const path of thirdPartyPaths(readFileSync(join(ROOT, 'package-lock.json'), 'utf8'))) {
    // Packages for other platforms are in the lockfile but not on disk.
    if (existsSync(join(ROOT, path))) copy(path, LEFT_OUT);
  }
  cpSync(process.execPath, join(folder, 'node'));
  chmodSync(join(folder, 'node'), 0o755);
}

/** The file tried in an empty home, with nothing on the path but what unpacks it. @returns the results as text */
function attempt(file: string): string[] {
  const bare = mkdtempSync(join(tmpdir(), 'reedtrace-bundle-'));
  try {
    mkdirSync(join(bare, 'bin'));
    for (const name of NEEDED)
      symlinkSync(run('/bin/sh', ['-c', `command -v ${name}`]).trim(), join(bare, 'bin', name));
    const env = { HOME: bare, PATH: join(bare, 'bin'), LANG: 'C.UTF-8' };
    cpSync(join(ROOT, SAMPLE), join(bare, 'take.wav'));
    const timed = (args: readonly string[]): { out: string; ms: number } => {
      const from = performance.now();
      const out = run(file, args, { cwd: bare, env });
      return { out, ms: performance.now() - from };
    };
    const unpacking = timed(['--version']);
    if (unpacking.out.trim() !== version) throw new Error(`--version printed '${unpacking.out.trim()}'`);
    const start = Math.min(...[1, 2, 3].map(() => timed(['--version']).ms));
    const take = timed(['transcribe', 'take.wav', '--harp', 'D']);
    if (!take.out.includes("-2  -3  -3''  -2''  -2"))
      throw new Error(`the tab is not that of the tune:\n${take.out}`);
    const exported = timed([
      'export',
      'take.take.json',
      '--as',
      'tab,musicxml,midi,abc,csv,pdf,svg,html',
    ]).out;
    const checked = timed(['check', 'take.take.json', '--against', 'take.txt', '--harp', 'D']).out;
    if (!/\b100 of 100\b/.test(checked)) throw new Error(`check printed:\n${checked}`);
    timed(['recording', 'take.wav']);
    const row = (what: string, ms: number): string => `${what.padEnd(44)}${ms.toFixed(0).padStart(7)} ms`;
    return [
      row('first start, unpacking', unpacking.ms),
      row('--version after that', start),
      row('tab of 20 s', take.ms),
      `tried too: ${exported.trim().split('\n').length} formats of export, check, recording`,
    ];
  } finally {
    rmSync(bare, { recursive: true, force: true });
  }
}

const folder = mkdtempSync(join(tmpdir(), 'reedtrace-stage-'));
try {
  stage(folder);
  const archive = join(folder, '..', `${NAME}.tar.gz`);
  run('tar', [
    '--sort=name',
    '--owner=0',
    '--group=0',
    '--mtime=2000-01-01',
    '-czf',
    archive,
    '-C',
    folder,
    '.',
  ]);
  const bytes = readFileSync(archive);
  rmSync(archive);
  const id = createHash('sha256').update(bytes).digest('hex').slice(0, 12);
  mkdirSync(join(ROOT, 'build'), { recursive: true });
  const file = join(ROOT, 'build', NAME);
  writeFileSync(file, Buffer.concat([Buffer.from(head(`${version}-${id}`)), bytes]));
  chmodSync(file, 0o755);
  const unpacked = run('du', ['-sk', folder]).split('\t')[0];
  const lines = [
    `build/${NAME}: ${(statSync(file).size / 1e6).toFixed(0)} MB, ${Math.round(Number(unpacked) / 1000)} MB unpacked`,
  ];
  process.stdout.write(`${[...lines, ...attempt(file)].join('\n')}\n`);
} finally {
  rmSync(folder, { recursive: true, force: true });
}
