import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { parseTake } from '../../src/take/parse.ts';

const at = (path: string) => fileURLToPath(new URL(`../../${path}`, import.meta.url));

function reedtrace(args: readonly string[], input?: Buffer) {
  return spawnSync(process.execPath, [at('bin/reedtrace.js'), ...args], {
    encoding: 'utf8',
    ...(input && { input }),
  });
}

describe('a bundled sample, through the built program', () => {
  it('is transcribed as in its truth file, also from standard input', () => {
    const held = reedtrace(
      ['transcribe', '-', '--harp', 'D', '--json'],
      readFileSync(at('samples/old-joe-clark.wav')),
    );
    expect({ code: held.status, stderr: held.stderr }).toEqual({ code: 0, stderr: '' });
    const take = parseTake(held.stdout, 'standard output');
    const truth = JSON.parse(readFileSync(at('samples/old-joe-clark.truth.json'), 'utf8')) as {
      notes: { onsetSec: number; hole: number; breath: string; bend: number }[];
    };
    // Onset within 50 ms (MIREX) and the same hole, breath and bend; how many is measured by `npm run bench`.
    const right = truth.notes.filter((note) =>
      take.notes.some(
        (found) =>
          Math.abs(found.onsetSec - note.onsetSec) <= 0.05 &&
          found.hole === note.hole &&
          found.breath === note.breath &&
          found.bend === note.bend,
      ),
    );
    expect(right.length / truth.notes.length).toBeGreaterThan(0.9);
    expect(Math.abs(take.notes.length - truth.notes.length)).toBeLessThan(0.1 * truth.notes.length);
  });
});
