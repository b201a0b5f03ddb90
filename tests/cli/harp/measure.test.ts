import { tmpdir } from 'node:os';
import { Readable } from 'node:stream';
import { describe, expect, it } from 'vitest';
import { Samples } from '../../../src/audio/samples.ts';
import { describeHarp } from '../../../src/cli/harp/chart.ts';
import {
  type MeasureEngine,
  measureJson,
  measureRecording,
  measureText,
} from '../../../src/cli/harp/measure.ts';
import { naturalReeds } from '../../../src/harp/playable.ts';
import { parseTemperamentTable } from '../../../src/harp/temperaments.ts';

const IO = {
  stdout: { write: () => true },
  stderr: { write: () => true },
  stdin: Readable.from([]),
  env: {},
  signal: new AbortController().signal,
  reportDir: tmpdir(),
};

/** Stands in for reading and transcribing: the pitches that a take would hold. */
function engineHearing(notes: readonly { f0Hz: number; sec: number }[]): MeasureEngine {
  return {
    stages: [],
    async readRecording() {
      return {
        samples: new Samples(44100),
        source: { file: 'x', sha256: '', durationSec: 1, sampleRate: 44100, channels: 1 },
        remarks: [],
      };
    },
    async transcribe() {
      return { notes: notes.map(({ f0Hz, sec }, i) => ({ f0Hz, onsetSec: i, offsetSec: i + sec })) };
    },
  };
}

const reeds = naturalReeds({ key: 'A', tuning: 'richter', temperament: 'just', a4Hz: 442 });
const heard = reeds
  .filter((reed) => !(reed.hole === 10 && reed.breath === 'draw'))
  .map((reed) => ({
    f0Hz: reed.hole === 4 && reed.breath === 'draw' ? reed.f0Hz * 2 ** (21 / 1200) : reed.f0Hz,
    sec: 1,
  }));

describe('measuring a harp by recording', () => {
  it('reports A4, temperament, reeds out of tune, gaps, and reeds that were not heard', async () => {
    const harp = await describeHarp('A', {});
    const withSlip = [...heard.slice(0, 5), { f0Hz: 333, sec: 0.2 }, ...heard.slice(5)];
    const measured = await measureRecording('x.wav', harp, { quiet: true }, IO, engineHearing(withSlip));
    // 7-limit values in cents: 5/4 -14, 3/2 +2, 9/8 +4, 15/8 -12, 21/16 -29, 27/16 +6 [calculated]; 4 draw is 21 sharp
    expect(measureText(harp, measured)).toBe(`A harp, Richter, as measured
A4 = 442.0 Hz; nearest temperament: just intonation for second position (7-limit), 1.1 cents off on average
cents from equal temperament at that A4

blow        0     -14     +2     0     -14     +2     0     -14     +2     0
hole       [1]    [2]    [3]    [4]    [5]    [6]    [7]    [8]    [9]    [10]
draw        +4     +2    -12    +25    -29     +6    -12     +4    -29     ?

Out of tune: 4 draw +21.
From blow to draw reed, against that temperament: hole 4 +21.
Not heard: 10 draw.
`);
    const json = JSON.parse(measureJson(harp, measured));
    expect(json).toMatchObject({
      format: 'reedtrace-harp-measure',
      version: 1,
      nearest: 'just-7-limit',
      strayNotes: 0,
    });
    expect(parseTemperamentTable(json)).toMatchObject({ name: 'measured A harp', kind: 'reeds' });
    expect(json.draw[3]).toBeCloseTo(24.9, 1);
    expect(json.draw[9]).toBeCloseTo(5.9, 1);
  });

  it('refuses a recording of another harp', async () => {
    const harp = await describeHarp('A', {});
    await expect(
      measureRecording('x.wav', harp, { quiet: true }, IO, engineHearing(heard.slice(0, 6))),
    ).rejects.toMatchObject({
      code: 'E_NOTHING_PLAYED',
      message: expect.stringContaining('fewer than half'),
    });
  });
});
