import { mkdtemp, readdir, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { run } from '../../../src/cli/run.ts';
import { captureIo } from '../captured-io.ts';

let dir: string;
beforeEach(async () => {
  dir = await mkdtemp(join(tmpdir(), 'reedtrace-correct-'));
});
afterEach(() => rm(dir, { recursive: true, force: true }));

async function correct(...argv: string[]) {
  const { io, texts } = captureIo({ reportDir: dir });
  return { code: await run(['correct', ...argv], io), ...texts };
}

// What happens on a terminal is driven in tests/ui/tasks.test.ts.
describe('reedtrace correct', () => {
  it('says that it needs a terminal, in one line, and touches nothing', async () => {
    await writeFile(join(dir, 'a.take.json'), '{}');
    expect(await correct(join(dir, 'a.take.json'))).toEqual({
      code: 2,
      stdout: '',
      stderr:
        'error: the correction screen needs a terminal for input and output; run it in a terminal without pipes; `reedtrace transcribe` prints tab anywhere\n',
    });
    expect(await readdir(dir)).toEqual(['a.take.json']);
  });

  it('refuses standard input and a harp that does not exist', async () => {
    expect(await correct('-')).toMatchObject({ code: 2, stdout: '' });
    const held = await correct('a.take.json', '--harp', 'H');
    expect(held.code).toBe(2);
    expect(held.stderr).toContain("'H' is not a harp key");
  });
});
