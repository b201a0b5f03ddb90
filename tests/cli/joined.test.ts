import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';

const at = (path: string): string => fileURLToPath(new URL(`../../${path}`, import.meta.url));

/** Files of the program and of packages that a command loads, as V8 lists them, relative to the repository. */
function loadedBy(args: readonly string[]): string[] {
  const folder = mkdtempSync(join(tmpdir(), 'reedtrace-joined-'));
  try {
    const { status } = spawnSync(process.execPath, [at('bin/reedtrace.js'), ...args], {
      env: { ...process.env, NODE_V8_COVERAGE: folder },
    });
    expect(status).toBe(0);
    const urls = readdirSync(folder).flatMap((name) =>
      (
        JSON.parse(readFileSync(join(folder, name), 'utf8')) as { result: readonly { url: string }[] }
      ).result.map(({ url }) => url),
    );
    const root = new URL('../../', import.meta.url).href;
    return urls.filter((url) => url.startsWith(root)).map((url) => url.slice(root.length));
  } finally {
    rmSync(folder, { recursive: true });
  }
}

it('loads only a few files to transcribe, and no package that only other commands need', () => {
  const loaded = loadedBy(['transcribe', at('samples/old-joe-clark.wav'), '--harp', 'D', '--no-save']);
  expect(loaded).toContain('dist/program/transcribe.js');
  expect(loaded.filter((path) => path.startsWith('node_modules/'))).toEqual([]);
  expect(loaded.length).toBeLessThanOrEqual(15);
});

it('loads even fewer to print its version', () => {
  expect(loadedBy(['--version']).sort()).toEqual([
    'bin/reedtrace.js',
    'dist/cli/main.js',
    'dist/program/start.js',
  ]);
});

it('includes the licence of every package whose code was joined', () => {
  const folder = at('dist/program');
  const licences = readFileSync(join(folder, 'LICENSES.txt'), 'utf8');
  const code = readdirSync(folder)
    .filter((name) => name.endsWith('.js'))
    .map((name) => readFileSync(join(folder, name), 'utf8'));
  const names = code.flatMap((text) =>
    [...text.matchAll(/^\/\/ node_modules\/((?:@[^/\n]+\/)?[^/\n]+)\//gm)].map(([, name]) => name),
  );
  expect(names).toContain('commander');
  for (const name of names) {
    expect(licences).toContain(`\n${name} `);
    expect(existsSync(at(`node_modules/${name}/LICENSE`))).toBe(true);
  }
});
