import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { encodeWav } from '../../samples/synth/wav.ts';
import { run } from '../../src/cli/run.ts';
import { lookAtRecording, lookAtRecordingOf } from '../../src/recording/look.ts';
import { parseTake } from '../../src/take/parse.ts';
import { plant } from '../bench/recordings/plant.ts';
import { captureIo } from '../cli/captured-io.ts';

it('an instrument that plays along is reported, and so it is before a take is judged', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'reedtrace-look-'));
  try {
    const { samples, sampleRate } = plant('accompaniment', 5);
    const tenSec = samples.subarray(0, 10 * sampleRate);
    const path = join(folder, 'along.wav');
    writeFileSync(path, encodeWav([tenSec], sampleRate));
    expect(await run(['transcribe', path], captureIo().io)).toBe(0);
    const take = parseTake(readFileSync(join(folder, 'along.take.json'), 'utf8'), 'along');
    const kinds = (problems: readonly { readonly kind: string }[]): string[] =>
      problems.map(({ kind }) => kind);
    expect(kinds((await lookAtRecording(path, {})).problems)).toContain('accompaniment');
    expect(kinds((await lookAtRecordingOf(take, path))?.problems ?? [])).toContain('accompaniment');
  } finally {
    rmSync(folder, { recursive: true });
  }
});
